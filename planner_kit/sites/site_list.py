"""The household's list of sites and of their price seasons."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.trip.lists import ListColumn, read_list, row_numbers

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path


def _price(name: str, meaning: str) -> ListColumn:
    return ListColumn(name, "number", meaning, low=0, high=10_000)


SITE_COLUMNS = (
    ListColumn("site_id", "id", "the name that trips use", True),
    ListColumn("name", "text", "the site's name", True),
    ListColumn("lat", "number", "entrance, WGS 84 [deg]", True, low=-90, high=90),
    ListColumn("lon", "number", "entrance, WGS 84 [deg]", True, low=-180, high=180),
    ListColumn("osm_ref", "text", "the map's object, such as way/123"),
    ListColumn("open_from", "month_day", "first day of the season; 01-01 for all year"),
    ListColumn("open_to", "month_day", "day by which everybody has left; 12-31 for all year"),
    ListColumn("arrive_from", "time", "earliest arrival, local"),
    ListColumn("arrive_until", "time", "latest arrival, local"),
    ListColumn("depart_by", "time", "latest departure, local"),
    ListColumn("pitch_length_m", "number", "length of the pitch [m]", low=3, high=60),
    ListColumn("pitch_width_m", "number", "width of the pitch [m]", low=2, high=60),
    ListColumn("max_outfit_length_m", "number", "longest car and caravan [m]", low=3, high=30),
    ListColumn(
        "hookup_a",
        "number",
        "hook-up; 0 for none [A]",
        low=0,
        high=63,
        outside="write amperes; watts divided by volts are amperes (3680 W at 230 V are 16 A)",
    ),
    ListColumn("hookup_v", "number", "hook-up [V]", low=100, high=400),
    _price("hookup_price", "for a night; 0 when included"),
    ListColumn("hookup_metered", "yes_no", "whether electricity is paid by the kilowatt-hour"),
    ListColumn("kwh_price", "number", "a metered kilowatt-hour", low=0, high=10),
    _price("price_low", "pitch and two adults, a night in low season"),
    _price("price_mid", "the same in mid season"),
    _price("price_high", "the same in high season"),
    _price("adult_price", "each adult beyond two, a night"),
    _price("child_price", "each child, a night"),
    _price("dog_price", "each dog, a night; 0 when free"),
    _price("awning_price", "an awning, a night; 0 when free"),
    ListColumn("currency", "text", "ISO 4217 code of the prices"),
    ListColumn("club", "id", "id of the membership that lowers the price"),
    ListColumn("member_discount_pct", "number", "off pitch and people [%]", low=0, high=100),
    ListColumn("members_only", "yes_no", "whether only members of `club` may stay"),
    ListColumn("min_nights", "whole", "shortest stay [nights]", low=1, high=60),
    ListColumn(
        "opens_days_ahead", "whole", "how long before arrival bookings open [day]", low=0, high=1000
    ),
    ListColumn("dogs", "yes_no", "whether dogs may come"),
    ListColumn("toilet_fluid", "text", "any, green only, or empty"),
    ListColumn("water_point", "text", "where water is drawn"),
    ListColumn("wifi", "yes_no", "whether there is wireless internet"),
    ListColumn("tv_socket", "yes_no", "whether the pitches have a television socket"),
    ListColumn("playground", "yes_no", "whether there is a playground"),
    ListColumn("rating", "number", "mean rating of visitors", low=0, high=100),
    ListColumn("rating_count", "whole", "how many gave one", low=0, high=10_000_000),
    ListColumn("rating_scale", "number", "the best rating that can be given", low=1, high=100),
    ListColumn("quiet_from", "time", "begin of the quiet hours, local"),
    ListColumn("quiet_until", "time", "their end"),
    ListColumn("surface", "text", "of the pitches: grass, hardstanding, gravel ..."),
    ListColumn("step_free", "yes_no", "whether wash rooms and pitches are reached without steps"),
    ListColumn("dump_station", "yes_no", "whether cassettes can be emptied"),
    ListColumn("ball_games", "yes_no", "whether they are allowed"),
    ListColumn("barbecue", "yes_no", "whether they are allowed"),
    ListColumn("drones", "yes_no", "whether they are allowed"),
    ListColumn("charging", "yes_no", "whether an electric car may be charged"),
    ListColumn("opening_hours", "text", "season or hours, OpenStreetMap syntax"),
    ListColumn("capacity", "whole", "pitches in all", low=0, high=100_000),
    ListColumn("fee", "yes_no", "whether a stay costs anything"),
    ListColumn("phone", "text", "telephone"),
    ListColumn("notes", "text", "own notes"),
    ListColumn("source", "text", "where the row was read"),
    ListColumn("as_of", "date", "the day it was read"),
)
SEASONS = ("low", "mid", "high")
SEASON_COLUMNS = (
    ListColumn("site_id", "id", "a site of the site list", True),
    ListColumn("season", "choice", "which of the site's prices holds", True, choices=SEASONS),
    ListColumn("start", "date", "first night", True),
    ListColumn("end", "date", "last night", True),
)


def read_sites(path: Path | None) -> pd.DataFrame:
    """The site list, indexed by ``site_id``; empty with its columns when there is none.

    Parameters
    ----------
    path : Path or None
        A CSV with the columns of `SITE_COLUMNS`.

    Returns
    -------
    sites : DataFrame
        One row for each site; missing cells are NaN, NA or the empty string.

    Raises
    ------
    PlanFileError
        See `planner_kit.trip.lists.read_list`; also where a row with a price has no currency or a
        row has a rating above its scale.
    """
    if path is None:
        return pd.DataFrame(columns=[c.name for c in SITE_COLUMNS]).set_index("site_id")
    sites = read_list(path, SITE_COLUMNS, key="site_id")
    rows = row_numbers(path)
    prices = [c.name for c in SITE_COLUMNS if "price" in c.name]
    currency = sites["currency"].str.fullmatch("[A-Z]{3}")
    for place, (priced, written) in enumerate(
        zip(sites[prices].notna().any(axis=1), currency, strict=True)
    ):
        if priced and not written:
            raise PlanFileError(
                f"'{sites['currency'].iloc[place]}' is not a currency, and the row has prices",
                f"{path}, row {rows[place]}, column currency",
                "write an ISO 4217 code such as GBP",
            )
    over = (sites["rating"] > sites["rating_scale"]).to_numpy()
    if over.any():
        place = int(over.argmax())
        raise PlanFileError(
            f"{sites['rating'].iloc[place]:g} is above the row's rating_scale "
            f"{sites['rating_scale'].iloc[place]:g}",
            f"{path}, row {rows[place]}, column rating",
            "correct one of them",
        )
    return sites.set_index("site_id")


def read_seasons(path: Path | None) -> pd.DataFrame:
    """The price seasons of the sites; empty with its columns when there is none.

    Parameters
    ----------
    path : Path or None
        A CSV with the columns of `SEASON_COLUMNS`; `start` and `end` are the first and the last
        night at that price.

    Returns
    -------
    seasons : DataFrame
        site_id, season, start, end (datetime64) and row (the row in the file).

    Raises
    ------
    PlanFileError
        If a season ends before it starts, or two seasons of a site overlap: a night would have two
        prices.
    """
    if path is None:
        return pd.DataFrame(columns=[*(c.name for c in SEASON_COLUMNS), "row"])
    seasons = read_list(path, SEASON_COLUMNS)
    seasons["row"] = row_numbers(path)
    backward = seasons[seasons["end"] < seasons["start"]]
    if len(backward):
        first = backward.iloc[0]
        raise PlanFileError(
            f"the season ends on {first['end']:%Y-%m-%d}, before it starts on "
            f"{first['start']:%Y-%m-%d}",
            f"{path}, row {first['row']}, column end",
            "exchange the two or correct the year",
        )
    ordered = seasons.sort_values(["site_id", "start"])
    before = ordered.groupby("site_id")[["end", "row"]].shift()
    clash = ordered[(ordered["start"] <= before["end"]).to_numpy()]
    if len(clash):
        later = clash.iloc[0]
        earlier = int(before.loc[clash.index[0], "row"])
        raise PlanFileError(
            f"the season starts on {later['start']:%Y-%m-%d}, before that of row {earlier} has "
            f"ended, and the nights they share would have two prices",
            f"{path}, row {later['row']}, column start",
            "let one end on the night before the other starts",
        )
    return seasons


def season_gaps(
    seasons: pd.DataFrame, arrive: dt.date | None = None, leave: dt.date | None = None
) -> tuple[str, ...]:
    """Nights between two seasons of a site that have no price, in sentences that name the rows.

    A gap is no error (a site may be closed then), but a stay in it has an unknown price.

    Parameters
    ----------
    seasons : DataFrame
        See `read_seasons`.
    arrive, leave : date, optional
        Only gaps that hold a night of this stay.
    """
    if seasons.empty:
        return ()
    ordered = seasons.sort_values(["site_id", "start"])
    before = ordered.groupby("site_id")[["end", "row"]].shift()
    first = before["end"] + pd.Timedelta(days=1)
    last = ordered["start"] - pd.Timedelta(days=1)
    gap = first <= last
    if arrive is not None and leave is not None:
        gap &= (first < pd.Timestamp(leave)) & (last >= pd.Timestamp(arrive))
    return tuple(
        f"{ordered.loc[place, 'site_id']}: no season from {first[place]:%Y-%m-%d} to "
        f"{last[place]:%Y-%m-%d}, between rows {int(before.loc[place, 'row'])} and "
        f"{ordered.loc[place, 'row']} of the seasons; the price of those nights is unknown."
        for place in ordered.index[gap.to_numpy()]
    )


# Which cells of a row were filled from the map, by their columns; see `gathering.gather_sites`.
FROM_MAP = "from_map"


def source_of(site: pd.Series, *columns: str) -> str:
    """Who says what stands in some columns of a site's row: the household's list, or the map.

    Parameters
    ----------
    site : Series
        A row of `read_sites` or of gathered sites.
    *columns : str
        The columns that a sentence is about; none for the row as a whole.
    """
    if set(str(site.get(FROM_MAP, "")).split()) & set(columns):
        return "the map"
    return f"site list: {site['source'] or 'no source given'}"


def site_of(sites: pd.DataFrame, site_id: str, where: str) -> pd.Series:
    """The row of a site.

    Parameters
    ----------
    sites : DataFrame
        See `read_sites`.
    site_id : str
    where : str
        The file and key that name the site, for the error.

    Raises
    ------
    PlanFileError
        If the list has no such site; the sentence names the nearest one.
    """
    if site_id not in sites.index:
        raise PlanFileError(
            f"the site '{site_id}' is not in the site list",
            where,
            nearest_name(site_id, [str(known) for known in sites.index]),
        )
    return sites.loc[[site_id]].iloc[0]
