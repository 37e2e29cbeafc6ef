"""The README of the demo folder, with the numbers of the places that the demo's story needs."""

from __future__ import annotations

TEXT = """\
# Demo data: the invented island Sallowey

Everything in this folder is invented: the island, its people, roads, sites, prices, ratings,
operators and masts. None of it is a real place, and none of it may be used to plan a journey.

- Origin: made by the project itself from one seed, no outside data. Licence: CC0 1.0.
- Make it again (the same bytes): `python -m planner_kit.region.demo_island data/demo`
- Where: open ocean, latitude 49.2 to 49.75, longitude -14.95 to -14.05 (tile N49W015).

## Files

| File | What it is |
| --- | --- |
| `sallowey.osm.pbf` | OpenStreetMap extract, imported like any other |
| `N49W015.hgt.zip` | terrain, SRTM layout, 3 arc seconds, big-endian 16-bit metres, sea 0 |
| `region.toml` | name, country of the rules, time zone, side of the road, attribution |
| `sites.csv`, `seasons.csv` | touring sites, their terms and their price seasons |
| `tariffs.csv`, `school_holidays.csv` | what sites charge beyond that, and the island's holidays |
| `rates.csv` | what a euro is worth: one site names its prices in it |
| `site_matches.csv` | which site is which place of the map, as the household said |
| `attractions.csv` | what to see and do |
| `masts.csv` | mobile masts and television transmitters |
| `tolls.csv`, `prices.csv` | prices of the toll bridge, the ferry, fuel, current and gas |
| `items.csv` | what the household loads and where |
| `rides/*.gpx` | three bicycle rides, GPX 1.1 with heights |
| `trip_2026.toml`, `trip_2027.toml` | one summer trip in two years, the first filled in after it |
| `trip_weekend.toml`, `trip_tour.toml` | a weekend, and a tour of three sites |

An empty cell means not known. Money is in `currency`; days are `MM-DD` or ISO 8601, hours `HH:MM`
local time; positions WGS 84.

## Columns

`sites.csv`: `site_id`; `name`; `lat`, `lon`; `osm_ref` (n, w or r and the OpenStreetMap number);
`open_from`, `open_to` (MM-DD, inclusive); `arrive_from`, `arrive_until`, `depart_by`;
`pitch_length_m`, `pitch_width_m`; `max_outfit_length_m` (car and caravan); `hookup_a`, `hookup_v`;
`hookup_price` (a night, 0 = included); `price_low`, `price_mid`, `price_high` (a pitch and night
with 2 adults, by season); `adult_price`, `child_price`, `dog_price`, `awning_price` (each further
one, a night); `currency`; `club` (membership id); `member_discount_pct`; `members_only`;
`min_nights`; `dogs`; `toilet_fluid` (any, green only); `water_point`; `wifi`; `playground`;
`rating`, `rating_count`, `rating_scale`; `quiet_from`, `quiet_until`; `phone`; `notes`;
`hookup_metered`; `kwh_price` (where a meter counts and this is empty, `kwh_site` of `prices.csv`
is taken); `tv_socket`; `source`; `as_of`.

`seasons.csv`: `site_id`, `season` (low, mid, high), `start`, `end` (both inclusive).

`tariffs.csv`, one row for each rule, of which later rows win: `site_id`; `rule` (pitch, person,
dog, awning, hookup, kwh, tax, fee, card, member, offer, deposit, min_nights, arrive_on); `amount`;
`unit` (night, stay, percent, kwh, nights); `start`, `end` (nights, both inclusive; empty = always);
`weekdays` (such as fri sat); `days` (school holidays, public holidays, long weekends); `from_age`,
`to_age`; `included` (people, dogs or kWh a night in the pitch price); `from_nights`, `to_nights`
(length of stay); `up_to_nights` (most nights it is charged for); `days_ahead` (booked so long
before); `club`; `with_member` (whether an offer adds to a member price); `note`; `source`; `as_of`.

`school_holidays.csv`: `name`, `start`, `end` (both inclusive), `source`, `as_of`.

`rates.csv`: `from_currency`, `to_currency`, `rate` (what one of the first is worth in the second),
`as_of`, `source`.

`site_matches.csv`: `site_id`; `place_id` (of the map); `same` (yes: they are one site; no: not).

`attractions.csv`: `attraction_id`; `name`; `lat`, `lon`; `kind`; `osm_ref`; `adult_price`,
`child_price`, `family_price` (2 adults, 2 children); `currency`; `parking_price`; `free_with`
(membership id); `rating`, `rating_count`, `rating_scale`; `indoor` (yes, no, part); `min_age`,
`max_age` (for whom it is meant); `time_needed_min`; `opening_hours` (OpenStreetMap syntax);
`dogs` (yes, no, lead, grounds); `notes`; `source`; `as_of`.

`masts.csv`: `mast_id`; `name`; `lat`, `lon`; `height_m` (of the aerials above ground); `service`
(mobile, tv); `operator`; `band_mhz`; `eirp_dbm`; `channel` (UHF); `polarisation`
(horizontal, vertical); `erp_w`; `notes`; `source`. One row for each operator's band.

`tolls.csv`: `toll_name` (as on the map); `vehicle` (car, car_and_caravan); `max_length_m` (the
band ends here; empty = any length); `price`; `currency`; `source`; `as_of`.

`prices.csv`: `item` (diesel_l, petrol_l, kwh_home, kwh_public, gas_kg_propane, gas_kg_butane,
cassette_fluid_l, kwh_site); `price`, `low`, `high`; `currency`; `as_of`; `source`.

`items.csv`: `item`; `mass_kg` (of one; empty = not weighed); `quantity`; `place` (begins with
car or caravan); `x_m` (in the caravan, metres ahead of the axle, behind it negative; empty = not
known); `person`.

## The story

Home is in the town in the east, at lat {home_lat}, lon {home_lon}.

| What | Where |
| --- | --- |
| Main site | `S01` Marren Bay Touring Park, in the west: {s01} |
| Reached only by a lane that is too narrow (2.1 m) | `S02` Fold Farm Field: {s02} |
| No way in that is high enough (2.3 m) | `S03` Old Quarry Camp: {s03} |
| On the small island, by ferry, tents only | `S14` Penny Holm Camp: {s14} |
| A night on the way | `S08` Bar View Touring: {s08} |

The household booked Marren Bay at what its lists come to: GBP 322.70 in 2026 and GBP 335.30 in
2027, when the high season had become dearer by GBP 2 a night.

The shortest way west is the lane over Stannet Pass: a bridge of 2.4 m over it, single track with
passing places, a 20 % hill and posts 2.0 m apart. The A1 goes round by the dual carriageway and
the toll bridge (Sallow Bar Bridge). Without the toll, the A12 goes round the head of the estuary.
The B23 from Sallow Bridge has a 20 % hill, and the north road (B21) a bridge of 3 t. Signs are
mapped where the A3 leaves the A1 and where the A12 leaves the A3; exit 1 of the dual carriageway
is the B25.

Memberships used in the lists: `hedgerow` (sites), `keepers` (castles and gardens), `wildfolk`
(reserves). Operators: Ternfone, Pebble Mobile, Northlight. People: Maren, Tobin, Isla, Fenn.
"""


def readme_text(home: tuple[float, float], sites: dict[str, tuple[float, float]]) -> str:
    """The README with the home's and the sites' positions filled in."""
    named = {f"s{key[1:]}": f"{lat:.6f}, {lon:.6f}" for key, (lat, lon) in sites.items()}
    return TEXT.format(home_lat=f"{home[0]:.6f}", home_lon=f"{home[1]:.6f}", **named)
