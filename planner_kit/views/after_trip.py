"""After the trip: a form for what really happened, written into the trip file, comments kept."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import ipywidgets as widgets
from IPython.display import HTML

from planner_kit.errors import PlanFileError
from planner_kit.outfit import item_names, read_items
from planner_kit.trip import display
from planner_kit.trip.filling import fill_trip
from planner_kit.trip.trip import Spent
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.against import against_html
from planner_kit.views.forms import Asked, Form, label_width_em
from planner_kit.views.rows import Rows
from planner_kit.views.start import button, tried
from planner_kit.views.stays import plan_of
from planner_kit.views.ticks import Ticks

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan

_KINDS = tuple((kind, kind) for kind in get_args(Spent.model_fields["kind"].annotation))
_DRIVEN = (
    Asked(("tow_hours",), "Hours under tow", "number", "Out and home together, without breaks."),
    Asked(("breaks",), "Breaks under tow", "whole"),
    Asked(("tow_fuel_l",), "Fuel for the tow, litres", "number", "From the pump or the display."),
    Asked(("solo_fuel_l",), "Fuel of the car alone, litres", "number"),
)
_WIDE = widgets.Layout(width="calc(100% - 4px)", max_width="640px", min_width="0")


def after_trip(folder: Path, *, trip: str, planned_on: str = "") -> AfterTrip:
    """The form for what happened on a trip.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    planned_on : str
        The day of planning, ISO 8601; empty for today.

    Returns
    -------
    form : AfterTrip
        Show it as the last value of a cell.

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used.
    """
    plan = plan_of(folder, trip, planned_on)
    return AfterTrip(plan, folder / trip)


def show_against(folder: Path, *, trip: str, planned_on: str = "") -> HTML:
    """What was planned beside what happened; see `after_trip` for the parameters."""
    plan = plan_of(folder, trip, planned_on)
    return HTML(look.page(against_html(plan)))


class AfterTrip(View):
    """Odometer, fuel, hours, money, signals, ratings, roads, what was not needed; and a button."""

    def __init__(self, plan: TripPlan, path: Path) -> None:
        self.plan, self.path = plan, path
        trip = plan.files.inputs.trip
        household = plan.files.inputs.household
        self.units = household.units
        fields = self._odometer_fields()
        wide = label_width_em((*fields, *_DRIVEN))
        self.odometer = Form(fields, self.units, label_em=wide)
        self.driven = Form(_DRIVEN, self.units, label_em=wide)
        sites = tuple(
            (str(plan.files.sites.loc[stay.site, "name"]), stay.site) for stay in trip.stays
        )
        operators = tuple(dict.fromkeys((p.operator, p.operator) for p in household.phones))
        roads = _roads_towed(plan)
        self.roads = dict(roads)
        sign = display.currency_sign(plan.cost.currency, self.units)
        self.spent = Rows(
            "Money spent",
            (Asked(("kind",), "For", "choice", choices=_KINDS),
             Asked(("amount",), f"Amount, {sign}", "money"),
             Asked(("what",), "What")),
            self.units,
            one="an amount",
            label_em=wide,
        )  # fmt: skip
        self.signals = Rows(
            "Signals on the pitch",
            (Asked(("operator",), "Operator", "choice", choices=operators),
             Asked(("site",), "Site", "choice", choices=sites),
             Asked(("level_dbm",), "Level, dBm", "number"),
             Asked(("calls",), "Calls work", "yes_no"),
             Asked(("video",), "Video works", "yes_no")),
            self.units,
            one="a reading",
            label_em=wide,
        ) if operators else None  # fmt: skip
        self.ratings = Rows(
            "Ratings",
            (Asked(("place",), "Place"), Asked(("stars",), "Stars, 0 to 5", "number"),
             Asked(("note",), "Note")),
            self.units,
            one="a rating",
            label_em=wide,
        )  # fmt: skip
        self.never = Rows(
            "Never again",
            (Asked(("road",), "Road", "choice", choices=tuple((name, name) for name, _ in roads)),
             Asked(("why",), "Why")),
            self.units,
            one="a road",
            label_em=wide,
            choice_counts=True,
        )  # fmt: skip
        self.not_needed = Ticks(
            "Carried and not needed: the next plan says so", _items(plan),
            empty="The household names no loading list under [loading] items.",
        )  # fmt: skip
        self.visited = Ticks(
            "Visited: the next days out look for something new", _places(plan),
            empty="No days out were planned.",
        )  # fmt: skip
        self.learnt = _lines("Learnt", "one thing on each line", wide)
        self.photos = _lines(
            "Photos", "files or folders beside the trip file, one on each line", wide
        )
        self.told = widgets.HTML()
        self.save = button("Write it into the trip file", self.write, main=True)
        parts = [self.odometer, self.driven, self.spent, self.signals, self.ratings, self.never]
        super().__init__(
            [
                widgets.HTML(
                    look.page(
                        f"<h3>After {look.text(trip.name)}</h3>",
                        look.paragraphs(["What the odometer read, if you noted it:"]),
                    )
                ),
                *(part for part in parts if part is not None),
                self.not_needed, self.visited, self.learnt, self.photos, self.save, self.told,
            ]
        )  # fmt: skip
        self._show()

    def _odometer_fields(self) -> tuple[Asked, ...]:
        unit = display.distance_unit(self.units)
        fields = []
        for number, leg in enumerate(self.plan.tow.legs):
            fields += [
                Asked((str(number), "start_km"), f"Leaving {leg.from_name}, {unit}", "number"),
                Asked((str(number), "end_km"), f"At {leg.to_name}, {unit}", "number"),
            ]  # fmt: skip
        return tuple(fields)

    def _show(self) -> None:
        """Fill the form with what the trip file says already."""
        actuals = self.plan.files.inputs.trip.actuals
        if actuals is None:
            return
        content = actuals.model_dump(mode="python", exclude_none=True)
        self.driven.show(content)
        self.odometer.show({
            str(number): {key: display.distance_in_units(km, self.units) for key, km in row.items()}
            for number, row in enumerate(content["odometer"])
        })  # fmt: skip
        self.spent.show(content["spent"])
        self.ratings.show(content["ratings"])
        if self.signals is not None:
            self.signals.show(content["signals"])
        ways = {road["osm_way_id"]: name for name, road in self.roads.items()}
        self.never.show(
            [{"road": ways.get(road.get("osm_way_id")), "why": road.get("why", "")}
             for road in content["never_again"] if road.get("osm_way_id") in ways]
        )  # fmt: skip
        for box, key in ((self.not_needed, "not_needed"), (self.visited, "visited")):
            box.options = [*box.options, *content[key]]
            box.value = content[key]
        self.learnt.value = "\n".join(content["learnt"])
        self.photos.value = "\n".join(content["photos"])

    def values(self) -> dict[str, Any]:
        """What the form says, as the keys of ``actuals``; None where nothing was filled in.

        Raises
        ------
        PlanFileError
            If a field that wants a number holds none.
        """
        said_km = self.odometer.values()
        rows = []
        for number in range(len(self.plan.tow.legs)):
            pair = [said_km[str(number), key] for key in ("start_km", "end_km")]
            if None in pair and pair != [None, None]:
                raise PlanFileError(
                    "one of the two readings is missing",
                    f"the odometer of tow {number + 1}", "fill in both or neither",
                )  # fmt: skip
            if None not in pair:
                km = [round(display.km_of(one, self.units), 3) for one in pair]
                rows.append({"start_km": km[0], "end_km": km[1]})
        if rows and len(rows) < len(self.plan.tow.legs):
            raise PlanFileError(
                "some tows have readings and others have none", "the odometer",
                "fill in all of them or none",
            )  # fmt: skip
        for earlier, later in pairwise(km for row in rows for km in row.values()):
            if later < earlier:
                raise PlanFileError("it falls from one reading to the next", "the odometer",
                                    "put the readings in order")  # fmt: skip
        told: dict[str, Any] = {str(key[0]): value for key, value in self.driven.values().items()}
        told["odometer"] = rows
        if rows:
            told["tow_km"] = round(sum(row["end_km"] - row["start_km"] for row in rows), 1)
            told["solo_km"] = round(rows[-1]["end_km"] - rows[0]["start_km"] - told["tow_km"], 1)
        told["spent"] = self.spent.values()
        told["ratings"] = self.ratings.values()
        if self.signals is not None:
            told["signals"] = self.signals.values()
        told["never_again"] = self._never_again()
        for key, lines in (
            ("not_needed", list(self.not_needed.value)), ("visited", list(self.visited.value)),
            ("learnt", _told_lines(self.learnt)), ("photos", _told_lines(self.photos)),
        ):  # fmt: skip
            told[key] = lines or None
        return told

    def _never_again(self) -> list[dict[str, Any]]:
        actuals = self.plan.files.inputs.trip.actuals
        shown = {road["osm_way_id"] for road in self.roads.values()}
        others = [
            road.model_dump(mode="python", exclude_defaults=True)
            for road in (actuals.never_again if actuals is not None else ())
            if road.osm_way_id not in shown
        ]
        chosen = [
            {**self.roads[row["road"]], "why": row.get("why", ""),
             "since": self.plan.files.inputs.trip.end}
            for row in self.never.values()
        ]  # fmt: skip
        return [*others, *chosen]

    def write(self) -> None:
        """Write what the form says into the trip file."""

        def written() -> list[str]:
            if not self.path.exists():
                raise PlanFileError(
                    "the file is gone", str(self.path), "put it back, then press the button again"
                )
            values = self.values()
            fill_trip(self.path, {("actuals", key): value for key, value in values.items()
                                  if value or value == 0 or key in _CLEARED})  # fmt: skip
            return [
                f"Written into {self.path.name}; its comments stayed.",
                "The next record of this trip sets it beside the plan, and later plans learn "
                "from it.",
            ]

        tried(self.told, written)


# Keys that an emptied field takes out of the file again.
_CLEARED = ("tow_hours", "breaks", "tow_fuel_l", "solo_fuel_l", "spent", "ratings", "signals",
            "never_again", "odometer", "not_needed", "visited", "learnt", "photos")  # fmt: skip


def _roads_towed(plan: TripPlan) -> list[tuple[str, dict[str, Any]]]:
    """The named roads of the tows with the way that was longest under tow."""
    ways = plan.files.region.roads["osm_way_id"]
    found: dict[str, tuple[float, dict[str, Any]]] = {}
    for leg in plan.tow.legs:
        steps = leg.route.steps
        for row in steps.to_dict("records"):
            name = str(row.get("ref") or row.get("name") or "").strip()
            length = float(row["length_m"])
            if name and name != "nan" and length > found.get(name, (0.0, {}))[0]:
                found[name] = length, {"name": name, "osm_way_id": int(ways.loc[row["road_id"]])}
    return [(name, road) for name, (_, road) in sorted(found.items())]


def _items(plan: TripPlan) -> list[str]:
    path = plan.files.paths.get("items")
    return [] if path is None else list(dict.fromkeys(item_names(read_items(path))))


def _places(plan: TripPlan) -> list[str]:
    names = [str(name) for report in plan.outings for name in report.days["name"] if str(name)]
    return list(dict.fromkeys(names))


def _lines(words: str, hint: str, label_em: int) -> widgets.Textarea:
    style = {"description_width": f"min({label_em}em, 60%)"}
    return widgets.Textarea(description=words, placeholder=hint, rows=3, style=style, layout=_WIDE)


def _told_lines(box: widgets.Textarea) -> list[str]:
    return [line.strip() for line in box.value.splitlines() if line.strip()]
