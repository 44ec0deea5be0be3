"""What the minimal program tells at its console: a line at a time, at quiet moments; what fails in it must not stop a switch."""


class Answering:
    """Answers whoever asks at the console for the report of these parts."""

    def __init__(self, parts):
        self._parts, self._lines, self._console = parts, None, None
        self._is_able = True

    def tend(self):
        """Look at the console, or tell one line more."""
        if not self._is_able or not self._parts.is_idle():
            return
        try:
            if self._console is None:
                from .console import Console

                self._console = Console()
            elif self._lines is not None:
                line = next(self._lines, None)
                if line is None:
                    self._lines = None
                else:
                    from .console import WORD

                    print(WORD, line)
            elif self._console.is_asked():
                from .report import told

                self._lines = told(self._parts, "minimal")
        except Exception as error:
            self._is_able = False
            print("console:", type(error).__name__, error)
