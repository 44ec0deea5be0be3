"""Every sheet of the page. A new one is a module, a template and a line here; those with a title are listed on top."""

from pattress.web import adding, undo, documents, home, live, measuring, spoken_names, pins, proving, rehearsed, remotes, thing, what_if
from pattress.web.sheet import Sheet

SHEETS = (
    Sheet("/", "Room", "home.html", home.view, {"undo": undo.undo, "redo": undo.redo}),
    Sheet("/thing/{section}", "", "thing.html", thing.view, thing.ACTIONS),
    Sheet("/thing/{section}/{key}", "", "thing.html", thing.view, thing.ACTIONS),
    Sheet("/add", "Add", "adding.html", adding.view),
    Sheet("/add/{section}", "", "adding.html", adding.view, {"add": adding.add}),
    Sheet("/what-if", "What if", "what_if.html", what_if.view, what_if.ACTIONS),
    *pins.SHEETS,
    *live.SHEETS,
    *proving.SHEETS,
    *rehearsed.SHEETS,
    *remotes.SHEETS,
    *measuring.SHEETS,
    Sheet("/names", "Names", "names.html", spoken_names.view),
    *documents.SHEETS,
)
