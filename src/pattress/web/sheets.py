"""Every sheet of the page. A new one is a module, a template and a line here; those with a title are listed on top."""

from pattress.web.design import documents, measuring, pins, remotes, spoken_names, what_if
from pattress.web.job import adding, home, rules, thing, undo
from pattress.web.program import live, proving, rehearsed
from pattress.web.sheet import Sheet

SHEETS = (
    Sheet("/", "Room", "home.html", home.view, {"undo": undo.undo, "redo": undo.redo}),
    Sheet("/thing/{section}", "", "thing.html", thing.view, thing.ACTIONS),
    Sheet("/thing/{section}/{key}", "", "thing.html", thing.view, thing.ACTIONS),
    Sheet("/add", "Add", "adding.html", adding.view),
    Sheet("/add/{section}", "", "adding.html", adding.view, {"add": adding.add}),
    *rules.SHEETS,
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
