"""The diary over the years: a calendar of trips, distances and money, and a map of all tows."""

from __future__ import annotations

import datetime as dt
import html
from calendar import isleap, monthrange
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from planner_kit.diary import read_index
from planner_kit.diary.history import all_tows, by_year, one_for_each_trip, tows_without_line
from planner_kit.diary.telling import region_of
from planner_kit.errors import PlanFileError
from planner_kit.trip import display, read_household
from planner_kit.views import look
from planner_kit.views.region_map import EMPTY, RegionMap

if TYPE_CHECKING:
    from planner_kit.region import Region
    from planner_kit.trip.household import Units

_YEARS = {
    "year": "Year", "trips": "Trips", "nights": "Nights", "towed": "Towed", "hours": "Under tow",
    "use": "Use under tow", "planned": "Planned", "spent": "Spent", "a_night": "A night",
}  # fmt: skip
_NONE_YET = "There is no record yet. Make one with:  planner-kit record TRIP.toml"
# A choice whose value is None shows as empty in the browser.
_ALL, _EVERY = "all years", 0


def show_years(
    folder: Path, *, records: str = "records", household: str = "household.toml"
) -> widgets.VBox:
    """The years of a diary: each trip on its year's calendar, distances and money.

    Parameters
    ----------
    folder : Path
        The planning folder.
    records : str
        The folder of records in it; it may be empty.
    household : str
        The household file in it, which says how figures are read.

    Returns
    -------
    years : VBox
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the household cannot be used.
    """
    units = read_household(folder / household).units
    index = read_index(folder / records)
    years = by_year(index)
    if years.empty:
        return widgets.VBox([widgets.HTML(look.page(look.paragraphs([_NONE_YET])))])
    table = widgets.HTML(look.page(calendar_svg(index), years_html(years, units)))
    return widgets.VBox([table, years_chart(years, units)])


def years_html(years: pd.DataFrame, units: Units) -> str:
    """The totals of each year as a table; see `planner_kit.diary.history.by_year`."""
    rows = []
    for row in years.to_dict("records"):
        currency = str(row["currency"])
        rows.append(
            {
                "year": str(row["year"]),
                "trips": str(row["trips"]),
                "nights": str(row["nights"]),
                "towed": display.distance(row["towed_km"], units),
                "hours": display.measured(row["tow_hours"], "h", units),
                "use": display.consumption(row["l_per_100km"], units),
                "planned": display.money(row["planned"], currency, units),
                "spent": display.money(row["spent"], currency, units),
                "a_night": display.money(row["per_night"], currency, units),
            }
        )
    figures = [name for name in _YEARS if name != "year"]
    return look.table(pd.DataFrame(rows), _YEARS, caption="The years", figures=figures)


def calendar_svg(index: pd.DataFrame) -> str:
    """Each year as a line of twelve months with its trips as bars that carry their names."""
    trips = one_for_each_trip(index)
    spans = [
        (str(row["name"]), dt.date.fromisoformat(str(row["start"])),
         dt.date.fromisoformat(str(row["end"])))
        for row in trips.to_dict("records")
    ]  # fmt: skip
    parts, top = [], 20
    for year in sorted({start.year for _, start, _ in spans}):
        own = [span for span in spans if span[1].year == year]
        height = 26 + 18 * len(own)
        parts.append(_year_row(year, own, top, height))
        top += height + 10
    months = "".join(
        f'<text x="{_x(2001, dt.date(2001, month, 1)) + 3:.1f}" y="12">'
        f"{dt.date(2001, month, 1):%b}</text>"
        for month in range(1, 13)
    )
    return (
        f'<svg viewBox="0 0 800 {top}" width="800" role="img" aria-label="Trips by year and month" '
        f'font-family="system-ui, sans-serif" font-size="12" fill="{look.PALETTE["ink"]}">'
        f"{months}{''.join(parts)}</svg>"
    )


def _year_row(year: int, own: list[tuple[str, dt.date, dt.date]], top: int, height: int) -> str:
    lines = "".join(
        f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top}" y2="{top + height}" stroke="#D5D5D5"/>'
        for x in [_x(year, dt.date(year, month, 1)) for month in range(1, 13)] + [795.0]
    )
    bars = []
    for number, (name, start, end) in enumerate(own):
        y = top + 22 + 18 * number
        left, right = _x(year, start), _x(year, min(end, dt.date(year, 12, 31)))
        shown = html.escape(f"{name}, {start.day} {start:%b} to {end.day} {end:%b}")
        beside = right + 5 if right < 520 else left - 5
        anchor = "start" if right < 520 else "end"
        bars.append(
            f'<rect x="{left:.1f}" y="{y - 10}" width="{max(right - left, 3):.1f}" height="12" '
            f'fill="{look.PALETTE["blue"]}"/>'
            f'<text x="{beside:.1f}" y="{y}" text-anchor="{anchor}">{shown}</text>'
        )
    return f'{lines}<text x="4" y="{top + 14}" font-weight="600">{year}</text>{"".join(bars)}'


def _x(year: int, day: dt.date) -> float:
    """Where a day stands on a line of 750 units."""
    days = sum(monthrange(year, month)[1] for month in range(1, day.month)) + day.day - 1
    return 45 + 750 * days / (366 if isleap(year) else 365)


def years_chart(years: pd.DataFrame, units: Units) -> go.FigureWidget:
    """Distance towed and money of each year, side by side."""
    unit = display.distance_unit(units)
    signs = {display.currency_sign(str(one), units) for one in years["currency"]}
    money = f"Money, {signs.pop()}" if len(signs) == 1 else "Money"
    chart = go.FigureWidget(
        make_subplots(1, 2, subplot_titles=(f"Towed, {unit}", f"{money}: planned and spent"))
    )
    known = years["towed_km"].astype(float)
    names = [
        f"{year} ({currency})" if years["currency"].nunique() > 1 else str(year)
        for year, currency in zip(years["year"], years["currency"], strict=True)
    ]
    chart.add_bar(
        x=names, y=[display.distance_in_units(km, units) for km in known], name="towed",
        marker={"color": look.PALETTE["blue"]}, showlegend=False, row=1, col=1,
    )  # fmt: skip
    for name, colour, mark in (("planned", "grey", "/"), ("spent", "orange", "")):
        chart.add_bar(
            x=names, y=years[name].astype(float), name=name,
            marker={"color": look.PALETTE[colour], "pattern": {"shape": mark}}, row=1, col=2,
        )  # fmt: skip
    chart.update_layout(
        height=320, barmode="group", plot_bgcolor="white", margin={"l": 10, "r": 10, "t": 40},
        font=look.CHART_FONT,
    )  # fmt: skip
    chart.update_xaxes(type="category")
    chart.update_yaxes(gridcolor="#E3E3E3", automargin=True)
    chart._config = look.CHART_SHOWN
    return chart


def show_tows(
    folder: Path, *, records: str = "records", household: str = "household.toml"
) -> widgets.VBox:
    """Every tow of a diary on the region's own map.

    Parameters
    ----------
    folder, records, household
        See `show_years`.

    Returns
    -------
    map : VBox
        A choice of years, the map and a table of the tows.

    Raises
    ------
    PlanFileError
        If the household cannot be used, or no trip file names a region that can be opened.
    """
    units = read_household(folder / household).units
    tows = all_tows(folder / records)
    missing = without_line_html(tows_without_line(folder / records), units)
    if tows.empty:
        told = missing or look.paragraphs([_NONE_YET])
        return widgets.VBox([widgets.HTML(look.page(told))])
    region = region_of(folder)
    if region is None:
        raise PlanFileError(
            "no trip file in it names a region that can be opened", str(folder),
            "build the region or name it under [files]",
        )  # fmt: skip
    return TowsMap(region, tows, units, missing)


def without_line_html(missing: pd.DataFrame, units: Units) -> str:
    """The records whose tows are not on the map, and why; empty where there is none.

    Parameters
    ----------
    missing : DataFrame
        See `planner_kit.diary.history.tows_without_line`.
    units : Units
    """
    if missing.empty:
        return ""
    shown = missing.assign(
        trip=missing["name"].fillna(""),
        day=[
            "" if display.is_missing(start) else display.day(dt.date.fromisoformat(start), units)
            for start in missing["start"]
        ],
    )
    return look.table(
        shown,
        {"trip": "Trip", "day": "From", "why": "Why its tows are not on the map",
         "record": "Folder"},
        caption="Not on the map",
        blank=("trip", "day"),
    )  # fmt: skip


class TowsMap(widgets.VBox):  # type: ignore[misc]
    """All tows, or those of one year; the table below names each of them."""

    def __init__(self, region: Region, tows: pd.DataFrame, units: Units, missing: str = "") -> None:
        self.tows, self.units = tows, units
        years = sorted(tows["year"].unique(), reverse=True)
        self.year = widgets.Dropdown(
            description="Year",
            options=[(_ALL, _EVERY), *((str(year), int(year)) for year in years)],
        )
        points = [point for line in tows["line"] for point in line]
        lat, lon = [point[0] for point in points], [point[1] for point in points]
        middle = ((min(lat) + max(lat)) / 2, (min(lon) + max(lon)) / 2) if points else None
        self.map = RegionMap(region, center=middle, zoom=10, height="420px")
        self.table = widgets.HTML()
        super().__init__(
            [self.year, self.map, self.table, widgets.HTML(look.page(missing) if missing else "")]
        )
        self.map.draw()
        self.year.observe(self._follow, names="value")
        self._follow(None)

    def shown(self) -> pd.DataFrame:
        """The tows of the chosen year."""
        return self.tows if self.year.value == _EVERY else self.tows[
            self.tows["year"] == self.year.value
        ]  # fmt: skip

    def _follow(self, _change: Any) -> None:
        tows = self.shown()
        lines = [_feature(line) for line in tows["line"] if len(line) > 1]
        self.map.shapes["mark"].data = {**EMPTY, "features": lines}
        days = [dt.date.fromisoformat(str(day)) for day in tows["day"]]
        table = pd.DataFrame(
            {
                "day": [display.day(day, self.units) for day in days],
                "from": tows["from"],
                "to": tows["to"],
                "km": [display.distance(km, self.units) for km in tows["km"]],
            }
        )
        self.table.value = look.page(
            look.table(table, {"day": "Day", "from": "From", "to": "To", "km": "Distance"},
                       caption="The tows on the map", figures=("km",))
        )  # fmt: skip


def _feature(line: list[list[float]]) -> dict[str, Any]:
    return {
        "type": "Feature",
        "properties": {"style": {"color": look.PALETTE["vermilion"], "weight": 4, "opacity": 0.8}},
        "geometry": {"type": "LineString", "coordinates": [[lon, lat] for lat, lon in line]},
    }
