"""What the form of a household asks, in the order in which people find it."""

from __future__ import annotations

from babel import Locale

from planner_kit.views.forms import Asked

_LOCALES = (
    "en-GB", "en-IE", "en-US", "en-CA", "en-AU", "de-DE", "de-AT", "de-CH", "fr-FR", "fr-BE",
    "nl-NL", "nl-BE", "es-ES", "it-IT", "pt-PT", "da-DK", "sv-SE", "nb-NO", "fi-FI", "pl-PL",
    "cs-CZ",
)  # fmt: skip


def _locale_words() -> tuple[tuple[str, str], ...]:
    return tuple((str(Locale.parse(one, sep="-").get_display_name("en")), one) for one in _LOCALES)


HOME = (
    Asked(("name",), "Household", hint="As it stands on the printed folder."),
    Asked(("home", "name"), "Name of home", hint="Such as street and place."),
    Asked(("home", "lat"), "Latitude of home", "number", "In degrees; a click on the map sets it."),
    Asked(("home", "lon"), "Longitude of home", "number", "West of Greenwich is negative."),
)
UNITS = (
    Asked(("units", "locale"), "Language and place", "choice",
          "How dates and numbers are written.", choices=_locale_words()),
    Asked(("units", "distance"), "Distances in", "choice",
          choices=(("miles", "miles"), ("kilometres", "km"))),
    Asked(("units", "fuel"), "Fuel use in", "choice",
          choices=(("miles to the gallon", "mpg"), ("litres for 100 km", "l_per_100km"),
                   ("kilometres to the litre", "km_per_l"))),
    Asked(("units", "currency"), "Money in", hint="Three capital letters, such as GBP or EUR."),
    Asked(("units", "paper"), "Paper", "choice",
          choices=(("A4", "A4"), ("US Letter", "Letter"))),
)  # fmt: skip
PERSON = (
    Asked(("name",), "Name"),
    Asked(("born",), "Born on", "date"),
    Asked(("drives",), "Drives the outfit", "choice", choices=(("no", False), ("yes", True))),
    Asked(("licence",), "Driving licence", "choice",
          "B is the usual car licence; BE adds heavier trailers.",
          choices=(("none, or not known", None), ("B", "B"), ("B96", "B96"), ("BE", "BE"),
                   ("C1E", "C1E"))),
    Asked(("licence_since",), "Licence held since", "date"),
    Asked(("licence_country",), "Licence from", hint="Two capital letters, such as GB or DE."),
)  # fmt: skip
CAR = (
    Asked(("car", "name"), "Car", hint="What you call it."),
    Asked(("car", "fuel"), "Runs on", "choice",
          choices=(("diesel", "diesel"), ("petrol", "petrol"), ("hybrid", "hybrid"),
                   ("electricity", "electric"))),
    Asked(("car", "kerb_kg"), "Kerb mass (kg)", "number",
          "The car ready to drive, empty; in its papers as mass in service."),
    Asked(("car", "kerb_includes_driver"), "Kerb mass holds a driver", "yes_no",
          "In most European papers 75 kg for a driver is counted in."),
    Asked(("car", "gross_kg"), "Gross mass (kg)", "number",
          "The most the loaded car may weigh; on the plate, often the first line."),
    Asked(("car", "gross_train_kg"), "Gross train mass (kg)", "number",
          "The most car and caravan may weigh together; on the plate, often the second line."),
    Asked(("car", "towing_limit_braked_kg"), "Towing limit, braked (kg)", "number",
          "The most the car may pull; in its handbook or papers."),
    Asked(("car", "towball_limit_kg"), "Tow ball limit (kg)", "number",
          "The most that may press on the ball; on the tow bar's plate."),
    Asked(("car", "rear_axle_limit_kg"), "Rear axle limit (kg)", "number",
          "On the plate, often the last line."),
    Asked(("car", "length_m"), "Length (m)", "number"),
    Asked(("car", "width_m"), "Width (m)", "number"),
    Asked(("car", "height_m"), "Height (m)", "number"),
    Asked(("car", "power_kw"), "Power (kW)", "number"),
    Asked(("car", "tank_l"), "Tank (l)", "number"),
    Asked(("car", "battery_kwh"), "Drive battery (kWh)", "number", "Electric cars only."),
    Asked(("car", "solo_l_per_100km"), "Use alone (l/100 km)", "number",
          "282.5 divided by the miles to a UK gallon."),
    Asked(("car", "towing_l_per_100km"), "Use when towing (l/100 km)", "number",
          "Leave it empty before the first trip: the kit then works it out."),
)  # fmt: skip
CARAVAN = (
    Asked(("caravan", "name"), "Caravan", hint="What you call it."),
    Asked(("caravan", "mtplm_kg"), "MTPLM (kg)", "number",
          "The most the loaded caravan may weigh: maximum technically permissible laden mass, "
          "on its plate."),
    Asked(("caravan", "mass_in_running_order_kg"), "Mass in running order (kg)", "number",
          "The caravan as delivered, in its handbook."),
    Asked(("caravan", "noseweight_limit_kg"), "Noseweight limit (kg)", "number",
          "The most the hitch may press down; on the hitch's plate."),
    Asked(("caravan", "axles"), "Axles", "choice", choices=(("one", 1), ("two", 2))),
    Asked(("caravan", "braked"), "Brakes", "yes_no",
          "Whether it has brakes of its own; over 750 kg it must."),
    Asked(("caravan", "stabiliser"), "Stabiliser hitch", "yes_no",
          "A hitch that damps swaying."),
    Asked(("caravan", "shipping_length_m"), "Length with drawbar (m)", "number"),
    Asked(("caravan", "body_length_m"), "Length of the body (m)", "number"),
    Asked(("caravan", "width_m"), "Width (m)", "number", "Without mirrors."),
    Asked(("caravan", "height_m"), "Height (m)", "number", "With everything on the roof."),
    Asked(("caravan", "ball_to_axle_m"), "Tow ball to axle (m)", "number",
          "Measure it: the loading plan needs it."),
    Asked(("caravan", "leisure_battery_ah"), "Leisure battery (Ah)", "number",
          "The battery that feeds lights and pump."),
    Asked(("caravan", "solar_w"), "Solar panels (W)", "number"),
    Asked(("caravan", "fresh_water_l"), "Fresh water (l)", "number"),
    Asked(("caravan", "waste_water_l"), "Waste water (l)", "number"),
    Asked(("caravan", "gas_cylinder_kg"), "Gas in a cylinder (kg)", "number"),
    Asked(("caravan", "gas_kind"), "Kind of gas", "choice",
          choices=(("not known", None), ("propane", "propane"), ("butane", "butane"))),
    Asked(("caravan", "hookup_lead_m"), "Hook-up lead (m)", "number",
          "The cable to the pitch's mains supply."),
    Asked(("loading", "noseweight_measured_kg"), "Noseweight as measured (kg)", "number",
          "With a gauge, packed for the road; empty until you have."),
)  # fmt: skip
