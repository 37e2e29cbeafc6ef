"""A first trip by a form: when, how long, which site on the map; then the record by a button."""

from __future__ import annotations

import datetime as dt
import os
import re
import unicodedata
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import ipywidgets as widgets
import numpy as np
from IPython.display import FileLink

from planner_kit.diary import record_trip
from planner_kit.diary.telling import record_sentences
from planner_kit.errors import PlanFileError
from planner_kit.sites import read_sites
from planner_kit.sites.gathering import gather_sites
from planner_kit.sites.own_list import add_site
from planner_kit.trip import display
from planner_kit.trip.filling import fill_trip
from planner_kit.trip.reading import read_trip
from planner_kit.trip.trip import Stay
from planner_kit.views import look
from planner_kit.views.forms import Asked, Form
from planner_kit.views.point_picker import PointPicker
from planner_kit.views.start import button, said, told_if_wrong, tried

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.region import Region
    from planner_kit.views.start import Plans

_ASKED = (
    Asked(("name",), "Name of the trip", hint="Such as Summer by the sea."),
    Asked(("start",), "First day", "date"),
)
_LISTS = ("sites", "seasons", "tariffs", "school_holidays", "attractions", "masts", "tolls",
          "prices", "rates")  # fmt: skip
_TOUR = (
    "One site: choose it and save. A tour of several: choose each in turn and press Add this stay."
)
_STYLE = {"description_width": "13em"}
_WIDE = widgets.Layout(width="calc(100% - 4px)", max_width="640px", min_width="0")


class TripForm(widgets.VBox):  # type: ignore[misc]
    """When, with whom and to which site; written to a trip file."""

    def __init__(self, plans: Plans, name: str = "trip.toml") -> None:
        self.plans, self.path = plans, plans.folder / name
        self.form = Form(_ASKED, plans.units())
        self.nights = widgets.BoundedIntText(
            value=7, min=1, max=120, description="Nights", style=_STYLE,
            layout=widgets.Layout(width="20em"),
        )  # fmt: skip
        self.site = widgets.Dropdown(description="Site", options=(), style=_STYLE, layout=_WIDE)
        self.hookup = widgets.Checkbox(value=True, description="with hook-up (mains supply)")
        self.awning = widgets.Checkbox(value=True, description="with awning")
        self.stays: list[dict[str, Any]] = []
        self.stays_told = widgets.HTML()
        self.party_box, self.map_box = widgets.VBox(), widgets.VBox()
        self.party: dict[str, widgets.Checkbox] = {}
        self.sites: pd.DataFrame | None = None
        self.told = widgets.HTML()
        super().__init__(
            [
                self.form, self.party_box,
                widgets.HTML(look.page("<strong>Where, and how long</strong>")),
                self.map_box, self.site, self.nights,
                widgets.HBox([self.hookup, self.awning], layout=widgets.Layout(flex_flow="wrap")),
                widgets.HTML(look.page(look.paragraphs([_TOUR]))),
                widgets.HBox(
                    [
                        button("Add this stay", self.add_stay),
                        button("Take the last stay out", self.drop_stay),
                    ],
                    layout=widgets.Layout(flex_flow="wrap"),
                ),
                self.stays_told,
                button("Save the trip", self.save, main=True),
                self.told,
            ]
        )  # fmt: skip
        self._read_file()
        self._refresh()
        self._show_single()
        plans.follow(lambda: told_if_wrong(self.told, self._refresh))
        for field in (self.site, self.nights):
            field.observe(lambda _: self._tell_stays(), names="value")

    def _read_file(self) -> None:
        """Show what the trip file says, where there is one."""
        tables = self.plans.tables(self.path.name)
        if tables:
            read_trip(self.path)
        self.form.use(self.plans.units())
        self.form.show(tables)
        self.stays = [dict(stay) for stay in tables.get("stays", [])]
        self._as_read = dict(self.form.values()) if tables else {}
        self._as_read[("stays",)] = _asked_of(self.stays)

    def _show_single(self) -> None:
        """A single stay stands in the fields, where it is changed; several stand in the list."""
        if len(self.stays) != 1 or self.sites is None:
            return
        stay = self.stays[0]
        if str(stay["site"]) not in self.sites.index:
            return
        self.stays = []
        self.site.value, self.nights.value = str(stay["site"]), int(stay["nights"])
        self.hookup.value = bool(stay.get("hookup", Stay.model_fields["hookup"].default))
        self.awning.value = bool(stay.get("awning", Stay.model_fields["awning"].default))
        self._as_read[("stays",)] = _asked_of([self._chosen() or stay])

    def _refresh(self) -> None:
        """Show the people, sites and stays as the files now say."""
        household, region = self.plans.household(), self.plans.region()
        coming = self.plans.tables(self.path.name).get("party") or None
        names = [person.name for person in household.people] if household else []
        self.party = {
            name: widgets.Checkbox(value=coming is None or name in coming, description=name)
            for name in names
        }
        self.party_box.children = tuple(self.party.values())
        if region is None or household is None:
            self.map_box.children = (
                widgets.HTML(said(["Choose a region and save a household first."])),
            )
            self.sites = None
        else:
            self._show_sites(region, (household.home.lat, household.home.lon))
        self._tell_stays()

    def _show_sites(self, region: Region, home: tuple[float, float]) -> None:
        path = self.plans.folder / "sites.csv"
        sites = gather_sites(region, read_sites(path if path.exists() else None)).sites
        self.sites = sites
        ordered = sites.sort_values("name")
        named = zip(ordered["name"].astype(str), ordered.index.astype(str), strict=True)
        options = [("choose one", None), *named]
        chosen = self.site.value
        self.site.options = options
        if chosen in dict.fromkeys(site for _, site in options):
            self.site.value = chosen
        picker = PointPicker(
            region, self.pick_site, at=home, places=_as_places(sites),
            word="Take the site nearest to the middle of the map",
        )  # fmt: skip
        words = "Click a site on the map, or choose it from the list. The house is home."
        self.map_box.children = (widgets.HTML(look.page(look.paragraphs([words]))), picker)
        self._home = home

    def pick_site(self, lat: float, lon: float) -> None:
        """Choose the site nearest to a point of the map."""
        if self.sites is None or self.sites.empty:
            self.told.value = said(["The map and your list know no site here."])
            return
        across = (self.sites["lat"].astype(float) - lat).to_numpy()
        along = (self.sites["lon"].astype(float) - lon).to_numpy() * np.cos(np.radians(lat))
        site = str(self.sites.index[int(np.hypot(across, along).argmin())])
        self.site.value = site
        self.map_box.children[1].mark_at(*self._home)
        name = str(self.sites.loc[site, "name"])
        self.told.value = said([f"Chosen: {name}."])

    def add_stay(self) -> None:
        """Put the site and nights chosen behind the stays so far."""
        stay = self._chosen()
        if stay is None:
            self.told.value = said(["Choose a site first."], wrong=True)
            return
        self.stays.append(stay)
        self._tell_stays()

    def _chosen(self) -> dict[str, Any] | None:
        """The stay that the fields show; None while no site is chosen."""
        if self.site.value is None:
            return None
        return {
            "site": self.site.value, "nights": self.nights.value, "hookup": self.hookup.value,
            "awning": self.awning.value,
        }  # fmt: skip

    def drop_stay(self) -> None:
        """Take the last stay out."""
        if self.stays:
            self.stays.pop()
            self._tell_stays()

    def _tell_stays(self) -> None:
        known = self.sites
        names: dict[str, str] = {}
        if known is not None:
            names = dict(zip(known.index.astype(str), known["name"].astype(str), strict=True))
        lines = []
        one = self._chosen()
        for stay in self.stays or ([] if one is None else [one]):
            site, nights = str(stay["site"]), int(stay["nights"])
            word = "night" if nights == 1 else "nights"
            lines.append(f"{nights} {word} at {names.get(site, site)}")
        self.stays_told.value = look.page(
            look.paragraphs(["The trip:" if lines else "No site is chosen yet."]),
            look.bullets(lines) if lines else "",
        )

    def _values(self, stays: list[dict[str, Any]]) -> dict[Any, Any]:
        """What the form says, by the keys of the file."""
        values = self.form.values()
        if values[("start",)] is None:
            raise PlanFileError("it is empty", "the field 'First day'", "choose a day")
        if values[("name",)] is None:
            raise PlanFileError("it is empty", "the field 'Name of the trip'", "fill it in")
        party = [name for name, box in self.party.items() if box.value]
        if self.party and not party:
            raise PlanFileError("nobody comes along", "the trip", "tick who comes")
        values[("party",)] = party if len(party) < len(self.party) else None
        values[("stays",)] = _asked_of(stays)
        return values

    def _changed(self, values: dict[Any, Any]) -> dict[Any, Any]:
        """What is to be written: what a field says anew, and lists that lie in the folder."""
        read = self._as_read if self.path.exists() else {}
        changed = {
            keys: value for keys, value in values.items() if keys not in read or read[keys] != value
        }
        if not self.plans.tables(self.path.name):
            changed[("id",)] = _id_of(str(values[("name",)]))
        elif ("stays",) in changed:
            changed[("stays",)] = self._without_old_bookings(changed[("stays",)])
        for name in _LISTS:
            if (self.plans.folder / f"{name}.csv").exists():
                changed[("files", name)] = f"{name}.csv"
        return changed

    def _without_old_bookings(self, stays: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Stays as they are to be written: a booking of another site is taken out of the file.

        Raises
        ------
        PlanFileError
            If one that is held, booked or paid would be lost.
        """
        rows = [dict(stay) for stay in stays]
        for number, old in enumerate(read_trip(self.path).stays):
            if number < len(rows) and rows[number]["site"] == old.site:
                continue
            if old.booking.state in ("held", "booked", "paid"):
                raise PlanFileError(
                    f"stay {number + 1} is {old.booking.state} at {old.site}",
                    f"{self.path.name}, stays > {number + 1} > booking",
                    "call that booking off in the file before the stay is changed",
                )
            if number < len(rows):
                rows[number] |= {"booking": None, "pitch": None}
        return rows

    def save(self) -> None:
        """Write what the form says into the trip file, and chosen sites into sites.csv."""

        def saved() -> list[str]:
            one = self._chosen()
            stays = self.stays or ([] if one is None else [one])
            if not stays:
                raise PlanFileError(
                    "there is no stay", "the trip", "choose a site on the map or from the list"
                )
            values = self._values(stays)
            for stay in stays:
                if self.sites is not None and stay["site"] in self.sites.index:
                    add_site(self.plans.folder / "sites.csv", self.sites.loc[stay["site"]])
            trip = fill_trip(self.path, self._changed(values))
            self._read_file()
            self._show_single()
            day = display.day(trip.start, self.plans.units())
            nights = "1 night" if trip.nights == 1 else f"{trip.nights} nights"
            told = [f"Saved: {trip.name}, {nights} from {day}, in {self.path}."]
            if trip.start < dt.date.today():
                told.append(
                    f"{day} is past: if this trip is still to come, choose another first day."
                )
            return told

        if tried(self.told, saved):
            self.plans.tell()


class RecordButton(widgets.VBox):  # type: ignore[misc]
    """Plan the trip and keep it as a record, with a bar that shows how far it is."""

    def __init__(self, plans: Plans, name: str = "trip.toml") -> None:
        self.plans, self.path = plans, plans.folder / name
        self.bar = widgets.IntProgress(
            description="Progress", min=0, max=1, layout=widgets.Layout(
                width="calc(100% - 4px)", max_width="640px", visibility="hidden"
            ),
        )  # fmt: skip
        self.told, self.links = widgets.HTML(), widgets.Output()
        self.start = button("Make the record", self.run, main=True)
        super().__init__([self.start, self.bar, self.told, self.links])

    def run(self) -> None:
        """Make a record of the trip in the folder ``records``."""

        def recorded() -> list[str]:
            if not self.path.exists():
                raise PlanFileError("there is no trip yet", str(self.path), "save one above")
            record = record_trip(self.path, self.plans.folder / "records", progress=self._tell)
            self.bar.value = self.bar.max
            self.links.outputs = ()
            for name in ("pack.pdf", "pack.html", "record.ipynb", "calendar.ics", "tow.gpx"):
                self.links.append_display_data(FileLink(os.path.relpath(record.folder / name)))
            return record_sentences(record)

        self.start.disabled = True
        self.bar.value, self.bar.layout.visibility = 0, "visible"
        try:
            tried(self.told, recorded)
        finally:
            self.start.disabled = False

    def _tell(self, part: str, done: int, cells: int) -> None:
        self.bar.max, self.bar.value = cells, done
        self.told.value = said([f"{part[:1].upper()}{part[1:]} ..."])


def _asked_of(stays: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What the form asks of each stay."""
    keys = ("site", "nights", "hookup", "awning")
    return [{key: stay[key] for key in keys if key in stay} for stay in stays]


def _as_places(sites: pd.DataFrame) -> gpd.GeoDataFrame:
    """Sites as places of a map."""
    lon, lat = sites["lon"].astype(float), sites["lat"].astype(float)
    return gpd.GeoDataFrame(
        {"place_id": sites.index.astype(str), "kind": "caravan_site", "name": sites["name"],
         "lat": lat, "lon": lon},
        geometry=gpd.points_from_xy(lon, lat),
        crs=4326,
    )  # fmt: skip


def _id_of(name: str) -> str:
    """A name as a trip's id: small letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    words = re.findall(r"[a-z0-9]+", plain.casefold())
    return "-".join(words)[:60].strip("-") or "trip"
