"""The kinds of place that a household looks for, and the OpenStreetMap tags that mark them."""

from __future__ import annotations

from dataclasses import dataclass

from planner_kit.reference import read_table

GROUPS = (
    "stay",
    "eat",
    "shop",
    "fuel",
    "rest",
    "health",
    "sight",
    "play",
    "water",
    "ride",
    "service",
    "mast",
    "travel",
    "settlement",
)


@dataclass(frozen=True)
class Kind:
    """A kind of place.

    Attributes
    ----------
    kind : str
        The word in the ``kind`` column of the places table.
    label : str
        The same in a person's words.
    group : str
        One of `GROUPS`.
    tags : tuple of (str, str)
        OpenStreetMap tags that must all be set.
    """

    kind: str
    label: str
    group: str
    tags: tuple[tuple[str, str], ...]


def _kinds() -> tuple[Kind, ...]:
    rows = read_table("place_kinds").to_dict("records")
    return tuple(
        Kind(
            row["kind"],
            row["label"],
            row["group"],
            tuple((k, v) for k, _, v in (t.partition("=") for t in row["tags"].split("+"))),
        )
        for row in rows
    )


# In the order of the table, which is the order of precedence where a place matches several.
KINDS: tuple[Kind, ...] = _kinds()
PLACE_KEYS = frozenset(kind.tags[0][0] for kind in KINDS)
LABELS = {kind.kind: kind.label for kind in KINDS}
GROUP_OF = {kind.kind: kind.group for kind in KINDS}


def kinds_of_group(group: str) -> tuple[str, ...]:
    """The kinds of a group, each once, in the order of the table.

    Raises
    ------
    KeyError
        If there is no such group.
    """
    if group not in GROUPS:
        raise KeyError(f"no group {group!r}; use one of {', '.join(GROUPS)}")
    return tuple(dict.fromkeys(k.kind for k in KINDS if k.group == group))


_BY_TAG: dict[tuple[str, str], list[tuple[int, Kind]]] = {}
for _rank, _kind in enumerate(KINDS):
    _BY_TAG.setdefault(_kind.tags[0], []).append((_rank, _kind))


def kind_of(tags: dict[str, str]) -> str | None:
    """The kind of place that a set of tags marks, or None."""
    best: tuple[int, str] | None = None
    for key in PLACE_KEYS & tags.keys():
        for rank, kind in _BY_TAG.get((key, tags[key]), ()):
            if (best is None or rank < best[0]) and all(tags.get(k) == v for k, v in kind.tags[1:]):
                best = rank, kind.kind
    return None if best is None else best[1]
