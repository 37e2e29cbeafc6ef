"""Tags of many objects as columns, each distinct value kept and parsed once."""

from __future__ import annotations

from array import array
from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.region import access
from planner_kit.region.tags import LIMITS, Reading, read_oneway
from planner_kit.rules.plausible import is_odd

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

NO_WORDS = frozenset({"no", "", "none"})


class TagTable:
    """Tags of many objects, each distinct value kept once.

    For every key: the rows that have it, and for each of those the number of its value.
    """

    def __init__(self) -> None:
        self._rows: dict[str, array[int]] = {}
        self._codes: dict[str, array[int]] = {}
        self._words: dict[str, dict[str, int]] = {}

    def add(self, row: int, key: str, value: str) -> None:
        """Note that the object of `row` has the tag."""
        if key not in self._words:
            self._rows[key], self._codes[key] = array("q"), array("i")
            self._words[key] = {}
        words = self._words[key]
        self._rows[key].append(row)
        self._codes[key].append(words.setdefault(value, len(words)))

    def keys(self) -> list[str]:
        """The keys that any object has."""
        return list(self._words)

    def values(self, key: str) -> list[str]:
        """The distinct values of a key, in the order in which they were met."""
        return list(self._words.get(key, {}))

    def codes(self, key: str, rows: int) -> NDArray[np.int32]:
        """For each of `rows` objects the number of its value in `values`, or -1."""
        out = np.full(rows, -1, dtype=np.int32)
        if key in self._rows:
            out[np.frombuffer(self._rows[key], dtype=np.int64)] = np.frombuffer(
                self._codes[key], dtype=np.int32
            )
        return out

    def text(self, key: str, rows: int) -> NDArray[Any]:
        """The value of each object as text, empty where it has none; object array."""
        words = np.array([*self.values(key), ""], dtype=object)
        return words[self.codes(key, rows)]


def value_mask(
    table: TagTable, key: str, rows: int, wanted: Callable[[str], bool]
) -> NDArray[np.bool_]:
    """Which of `rows` objects have a value of `key` that is wanted."""
    chosen = np.array([*(wanted(v) for v in table.values(key)), False], dtype=bool)
    return np.asarray(chosen[table.codes(key, rows)], dtype=bool)


class TagColumns:
    """Numbers and words of every way from its tags, with a count of what was not read."""

    def __init__(self, tags: TagTable, rows: int, unread: Counter[str]) -> None:
        self.tags, self.rows, self.unread = tags, rows, unread
        self.odd: Counter[str] = Counter()
        self.limit_notes: dict[str, NDArray[np.bool_]] = {}

    def number(
        self, key: str, read: Callable[[str], Reading], *, limit: bool = False
    ) -> NDArray[np.float64]:
        """The value of a key as a number; each distinct value is parsed once."""
        readings = [read(value) for value in self.tags.values(key)]
        codes = self.tags.codes(key, self.rows)
        values = np.array([*(r.value for r in readings), np.nan])
        bad = np.array([*(r.unread for r in readings), False], dtype=bool)[codes]
        if bad.any():
            self.unread[key] += int(bad.sum())
            odd = np.array([*(r.odd for r in readings), False], dtype=bool)[codes]
            if odd.any():
                self.odd[key] += int(odd.sum())
            if limit:
                self.limit_notes[key] = bad
        return values[codes]

    def believed(
        self, key: str, values: NDArray[np.float64], name: str, where: NDArray[np.bool_]
    ) -> NDArray[np.float64]:
        """The values of a key with NaN for those `where` its stricter bounds `name` are passed."""
        odd = is_odd(values, "map", name) & where
        if odd.any():
            self.unread[key] += int(odd.sum())
            self.odd[key] += int(odd.sum())
        return np.where(odd, np.nan, values)

    def limit(self, name: str) -> NDArray[np.float64]:
        """The lowest of the tags that give a limit."""
        keys, read = LIMITS[name]
        lowest = np.fmin.reduce([self.number(key, read, limit=True) for key in keys])
        return np.asarray(lowest, dtype=np.float64)

    def is_set(self, key: str, *, no: frozenset[str] = NO_WORDS) -> NDArray[np.bool_]:
        """Whether a key has a value other than those that mean no."""
        return value_mask(self.tags, key, self.rows, lambda v: v.strip().lower() not in no)

    def equals(self, key: str, *values: str) -> NDArray[np.bool_]:
        """Whether a key has one of the values."""
        return value_mask(self.tags, key, self.rows, lambda v: v in values)

    def text(self, key: str) -> NDArray[Any]:
        """The value as text, empty where the key is not set."""
        return self.tags.text(key, self.rows)

    def conditionals(self) -> None:
        """Note tags that hold only at times; they are kept as text and not applied."""
        for key in self.tags.keys():
            if key.endswith(":conditional"):
                has = self.tags.codes(key, self.rows) >= 0
                self.unread[key] += int(has.sum())
                self.limit_notes[key] = has

    def notes(self) -> NDArray[Any]:
        """`tag=value; ...` of all limits that were not read."""
        out = np.full(self.rows, "", dtype=object)
        for key, bad in self.limit_notes.items():
            for row in np.flatnonzero(bad):
                value = self.tags.values(key)[self.tags.codes(key, self.rows)[row]]
                out[row] += ("; " if out[row] else "") + f"{key}={value}"
        return out

    def access(self, mode: str, road_class: NDArray[Any]) -> NDArray[Any]:
        """Access of a mode by the most particular key that is set, else by class."""
        names, code = np.unique(road_class.astype(str), return_inverse=True)
        defaults = access.DEFAULTS[mode]
        out = np.array([defaults.get(name, "yes") for name in names], dtype=object)[code]
        for key in reversed(access.MODE_KEYS[mode]):
            read = [access.read_access(value) for value in self.tags.values(key)]
            codes = self.tags.codes(key, self.rows)
            bad = np.array([*(unread for _, unread in read), False], dtype=bool)[codes]
            if bad.any():
                self.unread[key] = int(bad.sum())
            words = np.array([*(meaning for meaning, _ in read), ""], dtype=object)[codes]
            out = np.where(words != "", words, out)
        return out

    def oneway(self, mode: str, implied: NDArray[np.bool_]) -> NDArray[np.int8]:
        """One-way of a mode: its own key, the general key, or what the road implies."""
        out = implied.astype(np.float64)
        for key in reversed(access.ONEWAY_KEYS[mode]):
            value = self.number(key, read_oneway, limit=mode == "car")
            out = np.where(np.isnan(value), out, value)
        return out.astype(np.int8)
