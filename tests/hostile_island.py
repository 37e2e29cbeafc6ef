"""The demo island once more, with hostile text wherever a file may hold words."""

from __future__ import annotations

import csv
import io
import re
import shutil
from pathlib import Path
from typing import Any

import osmium
import tomlkit

from planner_kit.region import build_region

RAN = "pk_ran"
"""The name that every payload sets in the browser's window, if it runs."""
PAYLOADS = (
    f"<script>window.{RAN}=1</script>",
    f"<img src=x onerror=window.{RAN}=2>",
    f'"><svg/onload=window.{RAN}=3>',
    f"'-alert(window.{RAN}=4)-'",
    f'<a href="javascript:window.{RAN}=5">here</a>',
    f"<iframe srcdoc='<script>parent.{RAN}=6</script>'></iframe>",
    f"$\\href{{javascript:window.{RAN}=7}}{{x}}$",
    f"</script><script>window.{RAN}=8</script>",
    f"</style><style onload=window.{RAN}=9>",
    f"${{window.{RAN}=10}} {{{{7*7}}}} {{% raw %}} `${{7*7}}`",
    '#panic("ran") #eval("1") $ x $ *b* _i_ @ref <label> [[ #sys.version',
    "\\input{/etc/passwd} \\write18{id} %s %n",
    '=HYPERLINK("http://127.0.0.1:9/","x")',
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "+1-1",
    "\u202egnp.elif \u2066turned\u2069",
    "name\x1b[31mred\x07\x00\x0b",
    "END:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:added\r\n",
    ']]></name><wpt lat="0" lon="0"/>',
    "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627 \U0001f3d5\ufe0f\u200d",
    "a" * 300,
    "**bold** [x](javascript:alert(1)) ![x](x) ~~~",
)
_WORDS = {"name", "note", "notes", "source", "item", "toll_name"}
_KEEP_TOLLS = {"toll_name", "item"}  # the kit finds these rows by their words
_TOML_WORDS = {"name", "notes", "pitch", "reference", "source", "what"}


class _Payloads:
    """Gives one payload after the other, each with a number so that names stay apart."""

    def __init__(self, *, plain_lines: bool = False) -> None:
        self.given = 0
        self.plain_lines = plain_lines

    def next(self) -> str:
        """The next payload."""
        text = PAYLOADS[self.given % len(PAYLOADS)]
        self.given += 1
        if self.plain_lines:  # what the format itself cannot hold
            text = re.sub(r"[\x00-\x1f]", "", text)
        return f"{text} {self.given}"


def hostile_island(demo: Path, to: Path) -> Path:
    """A planning folder like the demo's whose every name and note is a payload.

    Parameters
    ----------
    demo : Path
        The demo's planning folder.
    to : Path
        The folder to make.
    """
    shutil.copytree(demo, to, ignore=shutil.ignore_patterns("region", "records"))
    for path in to.glob("*.csv"):
        if path.name not in {"prices.csv", "tolls.csv"}:
            _spoil_list(path)
    for name in ("household.toml", "trip_2026.toml", "trip_2027.toml"):
        _spoil_tables(to / name)
    for path in (to / "rides").glob("*.gpx"):
        _spoil_ride(path)
    _spoil_extract(demo / "sallowey.osm.pbf", to / "sallowey.osm.pbf")
    build_region(to / "sallowey.osm.pbf", [demo / "N49W015.hgt.zip"], to / "region", progress=False)
    return to


def _spoil_list(path: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    payloads = _Payloads(plain_lines=True)
    for row in rows:
        for column in row:
            if column in _WORDS - _KEEP_TOLLS or (column == "item" and path.name == "items.csv"):
                row[column] = payloads.next()
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")


def _spoil_tables(path: Path) -> None:
    tables = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    people = {person["name"] for person in tables.get("people", ())}
    payloads = _Payloads()

    def spoilt(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            return {k: spoilt(v, k) for k, v in value.items()}
        if isinstance(value, list):
            return [spoilt(inner, key) for inner in value]
        wanted = isinstance(value, str) and key in _TOML_WORDS and value not in people
        return payloads.next() if wanted else value

    path.write_text(tomlkit.dumps(spoilt(tables)), encoding="utf-8")


def _spoil_ride(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    payloads = _Payloads(plain_lines=True)

    def escaped(_: re.Match[str]) -> str:
        words = payloads.next().replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        return f"<name>{words}</name><desc>{words}</desc>"

    path.write_text(re.sub(r"<name>.*?</name>(<desc>.*?</desc>)?", escaped, text, flags=re.S))


class _Spoiler(osmium.SimpleHandler):  # type: ignore[misc]
    """Writes every object of an extract again, its words turned into payloads."""

    WORDS = frozenset({"name", "ref", "operator", "description", "note", "destination", "website"})

    def __init__(self, writer: osmium.SimpleWriter) -> None:
        super().__init__()
        self.writer, self.payloads = writer, _Payloads(plain_lines=True)

    def _tags(self, thing: Any) -> dict[str, str]:
        return {
            tag.k: self.payloads.next()[:250] if tag.k in self.WORDS else tag.v
            for tag in thing.tags
        }

    def node(self, node: Any) -> None:
        self.writer.add_node(node.replace(tags=self._tags(node)))

    def way(self, way: Any) -> None:
        self.writer.add_way(way.replace(tags=self._tags(way)))

    def relation(self, relation: Any) -> None:
        self.writer.add_relation(relation.replace(tags=self._tags(relation)))


def _spoil_extract(extract: Path, to: Path) -> None:
    to.unlink(missing_ok=True)
    with osmium.SimpleWriter(str(to)) as writer:
        _Spoiler(writer).apply_file(str(extract))
