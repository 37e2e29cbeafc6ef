"""Comments of a TOML file that is changed: each stays with the key or table it speaks of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import tomlkit

if TYPE_CHECKING:
    from collections.abc import Mapping

Place = tuple[str, int]


def keys_of(document: Any) -> dict[Place, set[str]]:
    """The keys of each table of a document, to be held against those it has after a change."""
    return {place: set(table) for place, table in _tables_of(document).items()}


def written_out(document: Any, before: Mapping[Place, set[str]]) -> str:
    """A changed document as text, keys that were added standing with those of their table.

    Parameters
    ----------
    document : tomlkit.TOMLDocument
        It can only be written out afterwards.
    before : mapping
        What `keys_of` said before the change.

    Returns
    -------
    text : str
    """
    for place, table in _tables_of(document).items():
        _close_to_its_own(table, set(table) - before.get(place, set(table)))
    return tomlkit.dumps(document)


def take_out(here: Any, key: str) -> None:
    """Take a key out; where it is a list of tables, what is said of the table behind it stays."""
    if isinstance(here[key], tomlkit.items.AoT) and isinstance(here, tomlkit.TOMLDocument):
        of_next = of_what_follows(here[key])
        names = [name.key if name is not None else None for name, _ in here.body]
        for _, ahead in reversed(here.body[: names.index(key)]):
            if _is_table(ahead):
                last = ahead.body[-1] if isinstance(ahead, tomlkit.items.AoT) else ahead
                last.value.body.extend(of_next)
                break
    del here[key]


def of_what_follows(tables: Any) -> list[Any]:
    """Cut off the comments that end a list of tables and speak of the table that comes next."""
    if not isinstance(tables, tomlkit.items.AoT) or not len(tables):
        return []
    body: list[Any] = tables[-1].value.body
    while body and isinstance(body[-1][1], tomlkit.items.Table):
        body = body[-1][1].value.body
    start = len(body)
    while start > 0 and body[start - 1][0] is None:
        start -= 1
    while start < len(body) and not _is_empty_line(body[start][1]):
        start += 1
    cut = body[start:]
    del body[start:]
    return cut


def _tables_of(document: Any) -> dict[tuple[str, int], Any]:
    """The document, its tables and those of its lists; not the tables within tables."""
    found = {("", 0): document}
    for name, one in document.items():
        tables = one.body if isinstance(one, tomlkit.items.AoT) else [one]
        for number, table in enumerate(tables):
            if isinstance(table, tomlkit.items.Table):
                found[name, number] = table
    return found


def _close_to_its_own(table: Any, added: set[str]) -> None:
    """Set keys that were added behind the last key; a comment on what follows stays before that.

    A comment after an empty line is held to speak of the table that comes next. The positions that
    tomlkit keeps are wrong afterwards: the document can only be written out.
    """
    body: list[Any] = (table.value if isinstance(table, tomlkit.items.Table) else table).body
    simple = [
        number
        for number, (key, item) in enumerate(body)
        if key is not None and key.key in added and not _is_table(item)
    ]
    if not simple:
        return
    first = last = simple[0]
    while last + 1 in simple:
        last += 1
    start = first
    while start > 0 and body[start - 1][0] is None:
        start -= 1
    if start == 0 and not isinstance(table, tomlkit.items.Table):
        return
    while start < first and not _is_empty_line(body[start][1]):
        start += 1
    if start < first and last + 1 < len(body) and _is_table(body[last + 1][1]):
        # tomlkit has put an empty line between the key and the table; the comment stands there now.
        trivia = body[last + 1][1].trivia
        trivia.indent = trivia.indent.lstrip("\n")
    body[start : last + 1] = [*body[first : last + 1], *body[start:first]]


def _is_table(item: Any) -> bool:
    return isinstance(item, (tomlkit.items.Table, tomlkit.items.AoT))


def _is_empty_line(item: Any) -> bool:
    return isinstance(item, tomlkit.items.Whitespace) and "\n" in item.s
