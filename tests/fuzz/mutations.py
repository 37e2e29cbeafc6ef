"""Damage to real files, drawn by hypothesis: to bytes, to text, to cells and to keys."""

from __future__ import annotations

import copy
import csv
import io
import os
from typing import TYPE_CHECKING, Any

import tomlkit
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

if TYPE_CHECKING:
    from collections.abc import Callable

# Cases for each test: few in the suite, as many as told on demand.
CASES = int(os.environ.get("PLANNER_KIT_FUZZ_CASES", "0"))


def fuzzed(cases: int) -> settings:
    """How a test runs: the same few cases in the suite, many new ones on demand."""
    return settings(
        max_examples=CASES or cases,
        deadline=None,
        derandomize=not CASES,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=(Phase.generate, Phase.shrink) if not CASES else (Phase.generate,),
    )


# What a person, a spreadsheet, another program or an attacker may put where a value belongs.
ODD_WORDS = (
    "", " ", "-1", "0", "1e308", "-1e308", "nan", "inf", "-inf", "1,5", "1e-320", "9" * 400, "0x10",
    "true", "null", "None", "2027-02-30", "9999-12-31", "0000-00-00", "25:61", "£", "\u202eabc",
    "\u0000", "\ufeff", "\ud7ff\U0001f3d5", "=1+1", "<script>alert(1)</script>", "${7*7}",
    "{{7*7}}", "../../etc/passwd", "/etc/passwd", "C:\\Windows", "CON", "a" * 5_000, "\x1b[31m",
    "\r\n", "'\"", "%s%n", "\\input{x}", "#eval", "12 st 4 lb", "7.5 t", "Mo-Fr 10:00-",
)  # fmt: skip
ODD_VALUES: tuple[Any, ...] = (
    *ODD_WORDS, -1, 0, 1, 10**18, -(10**18), 1e308, float("nan"), float("inf"), True, [], [[]], {},
    [1, 2, 3], {"a": 1}, [{}] * 50,
)  # fmt: skip


@st.composite
def damaged_bytes(draw: st.DrawFn, whole: bytes) -> bytes:
    """Bytes flipped, cut, doubled, moved or filled with noise, one to four times."""
    data = bytearray(whole)
    for _ in range(draw(st.integers(1, 4))):
        size = len(data)
        at = draw(st.integers(0, max(size - 1, 0)))
        length = draw(st.integers(0, min(4096, size)))
        how = draw(st.sampled_from(("flip", "cut", "drop", "double", "noise", "zero", "swap")))
        if how == "flip" and size:
            data[at] ^= 1 << draw(st.integers(0, 7))
        elif how == "cut":
            del data[at:]
        elif how == "drop":
            del data[at : at + length]
        elif how == "double":
            data[at:at] = data[at : at + length]
        elif how == "noise":
            noise = draw(st.binary(max_size=64))
            data[at : at + len(noise)] = noise
        elif how == "zero":
            data[at : at + length] = bytes(len(data[at : at + length]))
        else:
            piece = data[at : at + length]
            del data[at : at + length]
            data[0:0] = piece
    return bytes(data)


@st.composite
def damaged_cells(draw: st.DrawFn, whole: str) -> bytes:
    """A CSV list with odd cells, odd column names, lost or doubled rows."""
    rows = list(csv.reader(io.StringIO(whole)))
    for _ in range(draw(st.integers(1, 4))):
        row = draw(st.integers(0, len(rows) - 1)) if rows else 0
        how = draw(st.sampled_from(("cell", "cell", "cell", "lose", "double", "column", "text")))
        if not rows:
            break
        if how == "cell" and rows[row]:
            rows[row][draw(st.integers(0, len(rows[row]) - 1))] = draw(st.sampled_from(ODD_WORDS))
        elif how == "lose":
            del rows[row]
        elif how == "double":
            rows.insert(row, list(rows[row]))
        elif how == "column":
            place = draw(st.integers(0, len(rows[0])))
            rows = [[*each[:place], *each[place + 1 :]] for each in rows]
        elif how == "text" and rows[row]:
            rows[row][draw(st.integers(0, len(rows[row]) - 1))] = draw(st.text(max_size=40))
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")


def _holders(value: Any) -> list[Any]:
    """Every table and list in a tree of values, itself first."""
    found = []
    if isinstance(value, dict | list):
        found.append(value)
        for inner in value.values() if isinstance(value, dict) else value:
            found += _holders(inner)
    return found


@st.composite
def damaged_tree(draw: st.DrawFn, read: Callable[[], Any], write: Callable[[Any], str]) -> bytes:
    """A tree of keys and values (TOML, JSON) with odd values, lost, misspelt or added keys."""
    tree = read()
    for _ in range(draw(st.integers(1, 3))):
        holder = draw(st.sampled_from(_holders(tree)))
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        if not keys:
            continue
        key = draw(st.sampled_from(keys))
        how = draw(st.sampled_from(("value", "value", "lose", "misspell", "text")))
        if how == "value":
            holder[key] = copy.deepcopy(draw(st.sampled_from(ODD_VALUES)))
        elif how == "lose":
            del holder[key]
        elif how == "text":
            holder[key] = draw(st.text(max_size=40))
        elif isinstance(holder, dict):
            holder[f"{key}x"] = holder.pop(key)
        else:
            holder.append(copy.deepcopy(holder[key]))
    return write(tree).encode("utf-8", "surrogatepass")


def toml_text(tree: Any) -> str:
    """A tree as TOML; what TOML cannot hold is left out."""
    return tomlkit.dumps(_without_none(tree))


def _without_none(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): _without_none(v) for k, v in value.items() if v is not None}
    if isinstance(value, list):
        return [_without_none(v) for v in value if v is not None]
    return value
