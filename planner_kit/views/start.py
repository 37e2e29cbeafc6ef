"""The first hour: a region, a household and a first trip by forms, and the record by a button.

Each form writes the same files that people write by hand, and reads them again when it is shown.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.demo import use_island
from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.outfit.odd_plates import odd_plates
from planner_kit.reference import shipped_folder
from planner_kit.region import build_region, open_region, region_sentences
from planner_kit.tow import prepare_once
from planner_kit.trip import read_household
from planner_kit.trip.filling import fill_household
from planner_kit.trip.household import Units
from planner_kit.trip.reading import key_text, read_toml
from planner_kit.views import household_fields, look
from planner_kit.views.access import View
from planner_kit.views.forms import Form
from planner_kit.views.point_picker import PointPicker

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner_kit.region import Region
    from planner_kit.trip.household import Household

_WHERE = (
    "Click on the map where home is; or choose the nearest town or village, which is enough to "
    "begin with."
)
_FIRST = "Choose a region first, in the step above."


class Plans:
    """A household's planning folder, and the forms that want to know when it changes.

    Attributes
    ----------
    folder : Path
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._followers: list[Callable[[], None]] = []

    def follow(self, changed: Callable[[], None]) -> None:
        """Call a function whenever a file of the folder was written by a form."""
        self._followers.append(changed)

    def tell(self) -> None:
        """Say that a file was written."""
        for follow in self._followers:
            follow()

    def region(self) -> Region | None:
        """The region of the folder, None where there is none yet."""
        path = self.folder / "region"
        return open_region(path) if path.is_dir() else None

    def household(self) -> Household | None:
        """The household of the folder, None where there is none yet."""
        path = self.folder / "household.toml"
        return read_household(path) if path.exists() else None

    def tables(self, name: str) -> dict[str, Any]:
        """The tables of a file of the folder, none where it is not there yet."""
        path = self.folder / name
        return read_toml(path) if path.exists() else {}

    def units(self) -> Units:
        """How the household reads figures; the usual way until it says."""
        household = self.household()
        return Units() if household is None else household.units


def first_plans(folder: str | Path) -> Plans:
    """A planning folder to begin with, made if it is missing.

    Raises
    ------
    PlanFileError
        If it cannot be made.
    """
    path = Path(folder).resolve()
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PlanFileError(
            f"it cannot be made ({error.strerror})", str(path), "choose another folder"
        ) from error
    return Plans(path)


def said(sentences: list[str], *, wrong: bool = False) -> str:
    """Sentences that a screen reader reads out when they change."""
    role = "alert" if wrong else "status"
    mark = "■ " if wrong else ""
    shown = look.paragraphs([mark + sentence for sentence in sentences])
    return look.page(f'<div role="{role}">{shown}</div>')


def tried(where: widgets.HTML, act: Callable[[], list[str]]) -> bool:
    """Do something and show what it says; a person's mistake is shown as one sentence."""
    try:
        where.value = said(act())
    except PlannerKitError as error:
        where.value = said([str(error)], wrong=True)
        return False
    return True


def told_if_wrong(where: widgets.HTML, act: Callable[[], None]) -> None:
    """Do something and show one sentence if a person's file is in the way of it."""
    try:
        act()
    except PlannerKitError as error:
        where.value = said([str(error)], wrong=True)


def button(words: str, on_click: Callable[[], None], *, main: bool = False) -> widgets.Button:
    """A button as wide as its words."""
    made = widgets.Button(
        description=words,
        button_style="primary" if main else "",
        layout=widgets.Layout(width="auto", margin="6px 6px 6px 0", align_self="flex-start"),
    )
    made.on_click(lambda _: on_click())
    return made


class RegionChoice(View):
    """The invented island to try things out, or a region built from a map extract."""

    def __init__(self, plans: Plans) -> None:
        self.plans = plans
        wide = {
            "style": {"description_width": "13em"},
            "layout": widgets.Layout(width="calc(100% - 4px)", max_width="640px"),
        }
        self.extract = widgets.Text(
            description="Map extract", placeholder="path of a file .osm.pbf", **wide
        )
        self.terrain = widgets.Text(
            description="Terrain tiles", placeholder="paths with commas between; may be empty",
            **wide,
        )  # fmt: skip
        self.country = widgets.Text(
            description="Country", placeholder="two letters, such as GB; may be empty", **wide
        )
        self.told = widgets.HTML()
        hint = (
            "An extract of OpenStreetMap holds the roads and places, terrain tiles the hills. "
            "Without terrain the kit says that hills are not known."
        )
        super().__init__(
            [
                button("Use the invented island", self.take_island, main=True),
                widgets.HTML(look.page("<strong>Or build your own region</strong>",
                                       look.paragraphs([hint]))),
                self.extract, self.terrain, self.country,
                button("Build the region", self.build),
                self.told,
            ]
        )  # fmt: skip
        tried(self.told, self._sentences)

    def _sentences(self) -> list[str]:
        region = self.plans.region()
        return ["There is no region yet."] if region is None else region_sentences(region)

    def take_island(self) -> None:
        """Build the demo's island into the folder."""
        self.told.value = said(["Building the island; this takes some seconds."])
        if tried(self.told, lambda: region_sentences(use_island(self.plans.folder))):
            self.plans.tell()

    def build(self) -> None:
        """Build a region from the files named."""

        def built() -> list[str]:
            if not self.extract.value.strip():
                raise PlanFileError("no file is named", "the field 'Map extract'", "name one")
            tiles = [Path(part.strip()) for part in self.terrain.value.split(",") if part.strip()]
            region = build_region(
                Path(self.extract.value.strip()),
                tiles,
                self.plans.folder / "region",
                country=self.country.value.strip().upper() or None,
            )
            prepare_once(region)
            return region_sentences(region)

        self.told.value = said(["Building the region; the bar below shows how far it is."])
        if tried(self.told, built):
            self.plans.tell()


class HouseholdForm(widgets.VBox):  # type: ignore[misc]
    """Who travels, from where, and with what; written to household.toml."""

    def __init__(self, plans: Plans) -> None:
        self.plans = plans
        self.path = plans.folder / "household.toml"
        self.told = widgets.HTML()
        self.home_map = widgets.VBox()
        units = plans.units()
        self.parts = {
            "Home": Form(household_fields.HOME, units),
            "Figures": Form(household_fields.UNITS, units),
            "Car": Form(household_fields.CAR, units),
            "Caravan": Form(household_fields.CARAVAN, units),
        }
        self.family = button("Fill in the invented family", self.take_family)
        self.people: list[Form] = []
        self.people_box = widgets.VBox()
        self.dog = widgets.Text(
            description="Dog", placeholder="its name; empty for none",
            style={"description_width": "13em"},
            layout=widgets.Layout(width="calc(100% - 4px)", max_width="640px"),
        )  # fmt: skip
        people = widgets.VBox(
            [
                self.people_box,
                widgets.HBox(
                    [
                        button("One more person", self.add_person),
                        button("Take the last one out", self.drop_person),
                    ]
                ),
                self.dog,
            ]
        )
        home = widgets.VBox([self.parts["Home"], self.home_map])
        self.tabs = widgets.Accordion(
            [home, self.parts["Figures"], people, self.parts["Car"], self.parts["Caravan"]],
            titles=["Home", "How you read figures", "People and dog", "Car", "Caravan"],
            selected_index=0,
        )
        save = button("Save the household", self.save, main=True)
        super().__init__([self.family, self.tabs, save, self.told])
        self._units = units
        self._load(self.plans.tables(self.path.name))
        figures = self.parts["Figures"].fields
        figures[("units", "locale")].observe(lambda _: self._use_locale(), names="value")
        self._show_map()
        plans.follow(lambda: told_if_wrong(self.told, self._show_map))

    def _use_locale(self) -> None:
        """Write the numbers of all fields as people of the place chosen do."""
        locale = self.parts["Figures"].fields[("units", "locale")].value
        self._units = self._units.model_copy(update={"locale": locale})
        for form in (*self.parts.values(), *self.people):
            form.use(self._units)

    def _load(self, tables: dict[str, Any]) -> None:
        shown = {**tables, "units": {**Units().model_dump(), **tables.get("units", {})}}
        for part in self.parts.values():
            part.show(shown)
        self.people.clear()
        for person in tables.get("people", [{}]):
            self.add_person()
            self.people[-1].show(person)
        dogs = tables.get("dogs", [])
        self.dog.value = str(dogs[0]["name"]) if dogs else ""
        # What the file says: a field that still says it is not written over a change by hand.
        self._as_read = self._values() if self.path.exists() else {}
        words = "Fill in what you know, and save." if not tables else f"Read from {self.path.name}."
        self.told.value = said([words])

    def take_family(self) -> None:
        """Fill the fields with the demo's invented family; saving writes them."""
        tables = read_toml(shipped_folder("data") / "demo" / "household.toml")
        self._load(tables)
        for shown in self.home_map.children:
            if isinstance(shown, PointPicker):
                shown.mark_at(tables["home"]["lat"], tables["home"]["lon"])
        self.told.value = said(["The invented family is filled in: look at it, then save."])

    def _show_map(self) -> None:
        region = self.plans.region()
        new = region is not None and region.invented and not self.path.exists()
        self.family.layout.display = None if new else "none"
        if region is None:
            self.home_map.children = (widgets.HTML(said([_FIRST])),)
            return
        home = self.plans.tables(self.path.name).get("home", {})
        at = (home["lat"], home["lon"]) if {"lat", "lon"} <= set(home) else None
        self.home_map.children = (
            widgets.HTML(look.page(look.paragraphs([_WHERE]))),
            PointPicker(region, self.set_home, at=at, find=True),
        )

    def set_home(self, lat: float, lon: float) -> None:
        """Put a point of the map into the fields of home."""
        home = self.parts["Home"]
        home.put(("home", "lat"), round(lat, 6))
        home.put(("home", "lon"), round(lon, 6))

    def add_person(self) -> None:
        """One more set of fields for a person."""
        self.people.append(Form(household_fields.PERSON, self._units))
        self.people_box.children = tuple(self.people)

    def drop_person(self) -> None:
        """Take the last person's fields out."""
        if len(self.people) > 1:
            self.people.pop()
            self.people_box.children = tuple(self.people)

    def save(self) -> None:
        """Write what the fields say into household.toml."""

        def saved() -> list[str]:
            read = self._as_read if self.path.exists() else {}
            values = self._values()
            try:
                household = fill_household(
                    self.path,
                    {
                        keys: value
                        for keys, value in values.items()
                        if keys not in read or read[keys] != value
                    },
                )
            except PlanFileError as error:
                raise self._by_its_field(error) from error
            self._load(self.plans.tables(self.path.name))
            count = len(household.people)
            who = "1 person" if count == 1 else f"{count} people"
            odd = [check.sentence for check in odd_plates(household)]
            return [f"Saved: {household.name}, {who}, in {self.path}.", *odd]

        if tried(self.told, saved):
            self.plans.tell()

    def _values(self) -> dict[Any, Any]:
        """What the fields say, by the keys of the file."""
        values: dict[Any, Any] = {}
        for part in self.parts.values():
            values.update(part.values())
        values[("people",)] = [
            {str(keys[0]): value for keys, value in person.values().items()}
            for person in self.people
        ]
        dog = self.dog.value.strip()
        dogs = self.plans.tables(self.path.name).get("dogs", [])
        if not dog:
            values[("dogs",)] = None
        else:
            values[("dogs",)] = [{"name": dog}, *dogs[1:]]
        return values

    def _by_its_field(self, error: PlanFileError) -> PlanFileError:
        """A fault in the file that would be written, told by the field that it stands in."""
        parts: list[tuple[str, Form, tuple[str | int, ...]]] = [
            ("Home", self.parts["Home"], ()),
            ("How you read figures", self.parts["Figures"], ()),
        ]
        parts += [
            ("People and dog", person, ("people", number))
            for number, person in enumerate(self.people)
        ]
        parts += [(name, self.parts[name], ()) for name in ("Car", "Caravan")]
        for title, form, before in parts:
            for asked in form.asked:
                if error.where != f"{self.path.name}, {key_text((*before, *asked.keys))}":
                    continue
                self.tabs.selected_index = self.tabs.titles.index(title)
                where = f"the field '{asked.label}' under '{title}'"
                if not str(form.fields[asked.keys].value or "").strip():
                    return PlanFileError("it is empty", where, "fill it in")
                return PlanFileError(error.what, where, error.remedy)
        return error
