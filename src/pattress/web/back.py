"""The way back and forth through the texts of the job file."""

from pattress.web.sheet import Asked, Go


def undo(asked: Asked) -> Go:
    """Go one text back."""
    asked.draft.undo()
    return Go(place(asked), "The last change is undone.")


def redo(asked: Asked) -> Go:
    """Go one text forth again."""
    asked.draft.redo()
    return Go(place(asked), "It is done again.")


def place(asked: Asked) -> str:
    """Return the address of this page that the form came from, the home view when it names no such."""
    back = asked.form.get("back", "/")
    return back if back.startswith("/") and not back.startswith("//") and back.isascii() and back.isprintable() and "\\" not in back else "/"
