"""The diary over the years: totals by year, every tow, search, and questions in SQL."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.diary.index import read_index, readable_facts
from planner_kit.diary.tow_lines import tow_lines
from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.files import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterator

INDEX_FILE = "index.parquet"
YEAR_COLUMNS = (
    "year", "trips", "nights", "towed_km", "tow_hours", "planned", "spent", "currency", "per_night",
    "l_per_100km",
)  # fmt: skip
TOW_COLUMNS = ("record", "trip", "year", "kind", "day", "from", "to", "km", "line")
FOUND_COLUMNS = ("record", "name", "start", "where", "text")


def one_for_each_trip(index: pd.DataFrame) -> pd.DataFrame:
    """The whole records of an index, each trip once: the one that tells of spending, or the last.

    Parameters
    ----------
    index : DataFrame
        See `read_index`.

    Returns
    -------
    trips : DataFrame
        The same columns, oldest first.
    """
    whole = index[index["state"] == "whole"]
    whole = whole.assign(told=whole["spent"].notna())
    whole = whole.sort_values(["start", "told", "record"])
    return whole.drop_duplicates(["trip", "start"], keep="last").drop(columns="told")


def by_year(index: pd.DataFrame) -> pd.DataFrame:
    """Trips, nights, distances, hours and money of each year.

    Parameters
    ----------
    index : DataFrame
        See `read_index`.

    Returns
    -------
    years : DataFrame
        year, trips, nights, towed_km (as driven, else as planned), tow_hours (as driven, else as
        planned), planned, spent (NaN where nothing was noted), currency, per_night (spent, else
        planned), l_per_100km (of the tows whose fuel was noted); one row for each year and
        currency, oldest first. A trip counts in the year of its first day.
    """
    trips = one_for_each_trip(index)
    if trips.empty:
        return pd.DataFrame(columns=list(YEAR_COLUMNS))
    trips = trips.assign(
        year=trips["start"].astype(str).str[:4].astype(int),
        towed=_numbers(trips["towed_km"]).fillna(_numbers(trips["tow_km"])),
        hours=_numbers(trips["tow_hours"]).fillna(_numbers(trips["tow_drive_min"]) / 60),
        fuelled_km=_numbers(trips["towed_km"]).where(trips["tow_fuel_l"].notna()),
        money=_numbers(trips["spent"]).fillna(_numbers(trips["cost_likely"])),
    )
    rows = []
    for (year, currency), own in trips.groupby(["year", "currency"], dropna=False, sort=True):
        nights, km = int(own["nights"].sum()), float(own["fuelled_km"].sum())
        litres = float(_numbers(own["tow_fuel_l"]).sum())
        rows.append(
            {
                "year": year,
                "trips": len(own),
                "nights": nights,
                "towed_km": own["towed"].sum(min_count=len(own)),
                "tow_hours": own["hours"].sum(min_count=len(own)),
                "planned": _numbers(own["cost_likely"]).sum(min_count=1),
                "spent": _numbers(own["spent"]).sum(min_count=1),
                "currency": currency,
                "per_night": own["money"].sum(min_count=len(own)) / nights if nights else None,
                "l_per_100km": 100 * litres / km if km else None,
            }
        )
    return pd.DataFrame(rows, columns=list(YEAR_COLUMNS))


def _numbers(column: pd.Series) -> pd.Series:
    return pd.to_numeric(column, errors="coerce")


def all_tows(records: str | Path) -> pd.DataFrame:
    """Every tow of every trip with its line, each trip once.

    Parameters
    ----------
    records : path

    Returns
    -------
    tows : DataFrame
        record, trip, year, kind, day, from, to, km, line (list of [lat, lon]). Records of kits
        that kept no lines give those of their ``tow.geojson`` or ``tow.gpx``;
        `tows_without_line` says which have none.
    """
    rows = [
        {"record": path.name, "trip": facts["trip"]["id"],
         "year": int(str(facts["trip"]["start"])[:4]), **tow}
        for path, facts in _once(records)
        for tow in tow_lines(path, facts)[0]
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(TOW_COLUMNS))


def tows_without_line(records: str | Path) -> pd.DataFrame:
    """The records whose tows are on no map, and why.

    Returns
    -------
    missing : DataFrame
        record, name, start, why; newest trip first. A record that cannot be read is among them,
        its name and start not known.
    """
    rows = [
        {"record": path.name, "name": facts["trip"]["name"], "start": facts["trip"]["start"],
         "why": why}
        for path, facts in _once(records)
        if (why := tow_lines(path, facts)[1])
    ]  # fmt: skip
    index = read_index(Path(records))
    broken = index.loc[index["state"] != "whole"].rename(columns={"state": "why"})
    found = [*rows, *broken[["record", "why"]].to_dict("records")]
    table = pd.DataFrame(found, columns=["record", "name", "start", "why"])
    return table.sort_values(["start", "record"], ascending=False, ignore_index=True)


def _once(records: str | Path) -> list[tuple[Path, dict[str, Any]]]:
    """The records that count once for each trip, with their facts."""
    wanted = set(one_for_each_trip(read_index(Path(records)))["record"])
    return [(path, facts) for path, facts in readable_facts(records) if path.name in wanted]


def search_records(records: str | Path, words: str) -> pd.DataFrame:
    """The places in the records where all the words stand.

    Parameters
    ----------
    records : path
    words : str
        Small and capital letters and accents do not matter.

    Returns
    -------
    found : DataFrame
        record, name, start, where, text; newest trip first. Empty for no words.
    """
    wanted = [_plain(word) for word in words.split()]
    rows: list[dict[str, Any]] = []
    for path, facts in readable_facts(records) if wanted else ():
        trip = facts["trip"]
        for where, text in _texts(facts):
            told = _plain(f"{trip['name']} {trip['start']} {text}")
            own = _plain(text)
            if all(word in told for word in wanted) and any(word in own for word in wanted):
                rows.append({"record": path.name, "name": trip["name"], "start": trip["start"],
                             "where": where, "text": text})  # fmt: skip
    table = pd.DataFrame(rows, columns=list(FOUND_COLUMNS)).drop_duplicates()
    return table.sort_values(["start", "record"], ascending=False, kind="stable", ignore_index=True)


def _texts(facts: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Every text of a record that a person may look for, with what it is."""
    actuals = facts.get("actuals") or {}
    yield "trip", str(facts["trip"]["name"])
    for key, where in (("sentences", "plan"), ("look_at", "looked at"), ("notes", "note"),
                       ("visited", "visited")):  # fmt: skip
        yield from ((where, str(text)) for text in facts.get(key) or [])
    sites = facts["trip"].get("sites", [])
    for site, name in zip(sites, facts["trip"].get("site_names", sites), strict=False):
        yield "site", str(name) if name == site else f"{name} ({site})"
    for one in facts.get("not_needed") or []:
        yield "leave at home", f"{one['item']}: {one['told']}"
    for one in facts.get("outings") or []:
        if one["name"]:
            yield "outing", f"{one['name']} on {one['day']}"
    yield from (("learnt", str(text)) for text in actuals.get("learnt", []))
    yield from (("not needed", str(text)) for text in actuals.get("not_needed", []))
    for one in actuals.get("ratings", []):
        yield "rating", f"{one['place']}: {one['stars']:g} of 5. {one.get('note', '')}".strip()
    for one in actuals.get("never_again", []):
        yield "never again", f"{one.get('name', '')} {one.get('why', '')}".strip()
    for one in actuals.get("spent", []):
        yield "spent", f"{one.get('what', '')} {one['kind']} {one['amount']:g}".strip()


def _plain(text: object) -> str:
    spread = unicodedata.normalize("NFKD", str(text).casefold())
    return re.sub(r"[\u0300-\u036f]", "", spread)


def figures_frame(records: str | Path) -> pd.DataFrame:
    """Every figure of every record: record, trip, start, key, label, value, words, unit.

    A value that is words and no number stands in ``words``.
    """
    rows = []
    for path, facts in readable_facts(records):
        for figure in facts["figures"]:
            value = figure["value"]
            number = isinstance(value, (int, float)) and not isinstance(value, bool)
            rows.append(
                {
                    "record": path.name,
                    "trip": facts["trip"]["id"],
                    "start": facts["trip"]["start"],
                    "key": figure["key"],
                    "label": figure["label"],
                    "value": float(value) if number else None,
                    "words": None if number or value is None else str(value),
                    "unit": figure["unit"],
                }
            )
    columns = ["record", "trip", "start", "key", "label", "value", "words", "unit"]
    return pd.DataFrame(rows, columns=columns)


def write_index(records: Path) -> Path:
    """Write the index as Parquet beside the records, for other programs; it can always be rebuilt.

    Returns
    -------
    path : Path
        ``index.parquet``.
    """
    path = records / INDEX_FILE
    write_whole(path, _typed(read_index(records)).to_parquet(index=False))
    return path


def _typed(index: pd.DataFrame) -> pd.DataFrame:
    """Columns of one type each, as Parquet and SQL want them."""
    numbers = ("nights", "tow_km", "tow_drive_min", "cost_likely", "spent", "towed_km",
               "tow_hours", "tow_fuel_l")  # fmt: skip
    days = {name: pd.to_datetime(index[name], errors="coerce") for name in ("start", "end")}
    amounts = {name: _numbers(index[name]).astype("float64") for name in numbers}
    words = {
        name: index[name].astype("string")
        for name in index.columns
        if name not in numbers and name not in days
    }
    return index.assign(**days, **amounts, **words)


def query_records(records: Path, question: str) -> pd.DataFrame:
    """What a question in SQL finds in the tables ``records`` and ``figures``.

    Parameters
    ----------
    records : Path
        The folder of records.
    question : str
        In DuckDB's SQL, such as ``select year(start), sum(tow_km) from records group by all``.

    Returns
    -------
    found : DataFrame

    Raises
    ------
    PlanFileError
        If DuckDB is not installed or does not understand the question.

    Notes
    -----
    The question sees these two tables only: no file and no network.
    """
    try:
        import duckdb
    except ImportError:
        raise PlanFileError(
            "DuckDB is not installed", "the question", "pip install 'planner_kit[query]'"
        ) from None
    shut = {"enable_external_access": "false", "lock_configuration": "true"}
    with duckdb.connect(":memory:", config=shut) as base:
        base.register("records", _typed(read_index(records)))
        base.register("figures", figures_frame(records))
        try:
            found: pd.DataFrame = base.execute(question).df()
        except duckdb.Error as error:
            raise PlannerKitError(f"the question is not understood: {error}") from None
    return found
