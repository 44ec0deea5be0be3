"""Modules that are always loaded together are one module in a bundle.

Each module costs the board three names, that of its file and of itself, alone and in its package, then a table of
its own, and once more whatever it takes from the others. So the members of a group go into its host, each
after what it needs and the host last; what is taken from a member is taken from the host. Where two
parts would call different things alike, the one that the host does not pass on is renamed: `advance_of_switches`.

An error on the board still names a line. The parts of a host begin `PART` lines after each other: line 3017
of `core` is line 17 of the third in its row here, counted from 0. In modules compiled without lines nothing is lost.
"""

import ast
from collections.abc import Iterable, Iterator, Mapping

from pattress.bundle.folding import PACKAGE, change_of, changed, found, is_python, line_starts, place_of
from pattress.bundle.sharing import given_at_top, spoken
from pattress.bundle.shortening import renamed

PART = 1000         # lines; no part has as many
TOGETHER: Mapping[str, tuple[str, ...]] = {       # host: its members, none without those it needs before it
    "core/__init__": ("core/cells", "core/channels", "core/switches", "core/regulators", "core/remote", "core/plan", "core/snapshot", "core/program"),
    "infrared/decoder": ("infrared/protocols", "infrared/timings", "infrared/distance", "infrared/code_fields", "infrared/reading"),
    "network/telling": ("network/records", "network/topics", "network/channel_requests"),
    "network/mqtt/client": ("network/mqtt/packets", "network/mqtt/conversation"),
    "network/http/server": ("network/http/tries",),
}


def joined(sources: Mapping[str, str], together: Mapping[str, tuple[str, ...]] = TOGETHER) -> dict[str, str]:
    """Return the source of each module with members put into their hosts; where one of a group is missing or no Python, the group stays apart.

    Raises ValueError where a member is asked for in a way that would not find it in its host.
    """
    trees = {name: ast.parse(text) for name, text in sources.items() if is_python(text)}
    groups = {host: (*members, host) for host, members in together.items() if {*members, host} <= trees.keys()}
    joining = _Joining(sources, trees, groups)
    texts = {name: joining.written(name) if name in trees else text for name, text in sources.items()}
    for host, parts in groups.items():
        texts[host] = "".join(_padded(texts.pop(name)) for name in parts[:-1]) + texts[host]
    return texts


def _padded(text: str) -> str:
    lines = text.count("\n") + (not text.endswith("\n"))
    if lines > PART:
        raise ValueError(f"a part has more than {PART} lines: {lines}")
    return text + "\n" * (PART - text.count("\n"))


class _Joining:
    """Which name of a member is which name of its host, and what that makes of each module."""

    def __init__(self, sources: Mapping[str, str], trees: Mapping[str, ast.Module], groups: Mapping[str, tuple[str, ...]]) -> None:
        self._sources = sources
        self._nodes = {name: list(ast.walk(tree)) for name, tree in trees.items()}
        self._tops = {name: tree.body for name, tree in trees.items()}
        self._host = {part: host for host, parts in groups.items() for part in parts}
        self._parts = groups
        self._new: dict[tuple[str, str], str] = {}
        for host, parts in groups.items():
            said = {part: spoken(trees[part]) for part in parts}
            taken = {part: {(source, one.name) for source, one in self._taken(part)} for part in parts}
            for part in parts[:-1]:
                others = set().union(*(said[other] - {name for source, name in taken[other] if source == part} for other in parts if other != part))
                for name in given_at_top(trees[part]) & others:
                    if (part, name) not in taken[host]:
                        self._new[part, name] = f"{name}_of_{_last(part)}"

    def _taken(self, name: str) -> Iterator[tuple[str, ast.alias]]:
        """Give what a module takes from others of these by name, and from which."""
        for node in self._nodes[name]:
            if isinstance(node, ast.ImportFrom):
                for one in node.names:
                    place = place_of(name, node)
                    if not found(self._sources, place, one.name) and (source := found(self._sources, place)):
                        yield source, one

    def _is_within(self, name: str, source: str) -> bool:
        return name in self._host and self._host[name] == self._host.get(source)

    def written(self, name: str) -> str:
        """Return the text of a module that asks hosts instead of members, and as a part for nothing twice."""
        text, starts = self._sources[name], line_starts(self._sources[name])
        names = {own: new for (part, own), new in self._new.items() if part == name}
        for source, one in self._taken(name):
            if (source, one.name) in self._new:
                if one.asname:
                    raise ValueError(f"{name} takes {one.name} of {source} under another name")
                names[one.name] = self._new[source, one.name]
        modules = self._members(name)
        changes, inside = [], set()
        for node in self._nodes[name]:
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules:
                inside.add(node.value)
                member = modules[node.value.id]
                before = "" if self._is_within(name, member) else f"{_last(self._host[member])}."
                changes.append(change_of(node, before + self._new.get((member, node.attr), node.attr), starts))
            elif isinstance(node, ast.Name) and node.id in modules and node not in inside:
                raise ValueError(f"{name} hands on the module {modules[node.id]}, which is a part of another")
        asked = {node.id for node in inside}
        known = self._known_before(name)
        for node in self._nodes[name]:
            if isinstance(node, ast.Import | ast.ImportFrom):
                words = [word for one in node.names if (word := self._import(name, node, one, asked)) and word not in known]
                if words != list(_words(node)):
                    changes.append(change_of(node, _statements(words), starts))
        return renamed(changed(text, changes), names)

    def _members(self, name: str) -> dict[str, str]:
        """Return which members a module takes as modules, by their names there."""
        members = {}
        for node in self._nodes[name]:
            if isinstance(node, ast.ImportFrom):
                for one in node.names:
                    member = found(self._sources, place_of(name, node), one.name)
                    if member in self._host and member != self._host[member]:
                        if self._host[member].endswith(PACKAGE) and not self._is_within(name, member):
                            raise ValueError(f"{name} takes the module {member}, which is a part of its package")
                        members[one.asname or one.name] = member
        return members

    def _import(self, name: str, node: ast.Import | ast.ImportFrom, one: ast.alias, asked: set[str]) -> str:
        """Return the statement that takes one thing, "" when it is there already; `asked` are the modules of which anything is asked."""
        if isinstance(node, ast.Import):
            return f"import {ast.unparse(one)}"
        place, package = place_of(name, node), "." * node.level + (node.module or "")
        module, source = found(self._sources, place, one.name), found(self._sources, place)
        if module in self._host and module != self._host[module]:
            return "" if self._is_within(name, module) or (one.asname or one.name) not in asked else f"from {package} import {_last(self._host[module])}"
        if module or source not in self._host or source == self._host[source]:
            return f"from {package} import {ast.unparse(one)}"
        if self._is_within(name, source):
            return ""
        above = package[:len(package) - len(_last(source))]
        host = (above + _last(self._host[source])) if not self._host[source].endswith(PACKAGE) else above.removesuffix(".") or above
        return f"from {host} import {self._new.get((source, one.name), one.name)}{f' as {one.asname}' if one.asname else ''}"

    def _known_before(self, name: str) -> set[str]:
        """Return the imports at the top of the parts that come before one in its host."""
        parts: Iterable[str] = self._parts.get(self._host.get(name, ""), ())
        found: set[str] = set()
        for part in parts:
            if part == name:
                return found
            found |= {word for node in self._tops[part] if isinstance(node, ast.Import | ast.ImportFrom) for word in _words(node)}
        return found


def _last(name: str) -> str:
    return name.rpartition("/")[2]


def _words(node: ast.Import | ast.ImportFrom) -> Iterator[str]:
    """Give a statement that imports as many statements, one for each thing."""
    for one in node.names:
        yield f"import {ast.unparse(one)}" if isinstance(node, ast.Import) else f"from {'.' * node.level}{node.module or ''} import {ast.unparse(one)}"


def _statements(words: Iterable[str]) -> str:
    """Return statements that import as one line, those from one place together."""
    places: dict[str, list[str]] = {}
    for word in dict.fromkeys(words):
        place, _, what = word.rpartition("import ")
        places.setdefault(place, []).append(what)
    return "; ".join(f"{place}import {', '.join(what)}" for place, what in places.items()) or "pass"
