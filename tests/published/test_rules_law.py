import datetime as dt

import pytest

from planner_kit.rules import RULES, cautions_for, law_of, licence_covers, tyre_load_kg

DAY = dt.date(2027, 7, 24)


@pytest.mark.published(
    source="The Motor Vehicles (Driving Licences) (Amendment) (No. 5) Regulations 2021, "
    "explanatory note of the draft (whoever passed the test for B may drive what B+E covers), read "
    "2026-11-29; "
    "GOV.UK notice 'New rules for towing a trailer with a car from 16 December 2021': trailers up "
    "to 3,500 kg MAM, stored copy read 2026-11-25"
)
@pytest.mark.parametrize(("caravan", "covers"), [(3500, True), (3501, False)])
def test_category_b_in_great_britain(caravan: float, covers: bool) -> None:
    answer = licence_covers("GB", "B", car_gross_kg=3500, caravan_plate_kg=caravan, on=DAY)
    assert answer.covers is covers


# The directive: B with a trailer of up to 750 kg; B with a heavier one up to 3 500 kg together;
# up to 4 250 kg together after training or a test (code 96); BE with a trailer up to 3 500 kg.
@pytest.mark.published(
    source="Directive 2006/126/EC, Article 4 (4) (b) and (c), text as quoted at "
    "http://i-drive.com.cy/?p=287, stored copy read 2026-11-25"
)
@pytest.mark.parametrize(
    ("category", "car", "caravan", "covers"),
    [
        ("B", 3500, 750, True),
        ("B", 2750, 751, False),
        ("B", 2000, 1500, True),
        ("B", 2001, 1500, False),
        ("B96", 2750, 1500, True),
        ("B96", 2751, 1500, False),
        ("BE", 3500, 3500, True),
        ("BE", 2000, 3501, False),
    ],
)
def test_categories_of_the_european_directive(
    category: str, car: float, caravan: float, covers: bool
) -> None:
    for country in ("FR", "DE", "NL", "IE"):
        answer = licence_covers(
            country, category, car_gross_kg=car, caravan_plate_kg=caravan, on=DAY
        )
        assert answer.covers is covers


# Regulation 7, table: item 1, one trailer, 18.75 m; item 9, any other trailer, 7 m. Paragraph
# (3C): item 1A (18 m for older cars) ends on 31 December 2006. Regulation 8, item 4, of 2010.
@pytest.mark.published(
    source="The Road Vehicles (Construction and Use) Regulations 1986 (GB), regulations 7 and 8, "
    "and SI 2010/964, regulation 2, text of legislation.gov.uk at github.com/legalize-dev/"
    "legalize-uk, read 2026-11-29"
)
def test_size_of_a_trailer_in_great_britain() -> None:
    assert law_of("GB", "trailer_width_m", on=DAY).value == 2.55
    assert law_of("GB", "trailer_length_m", on=DAY).value == 7
    train = law_of("GB", "train_length_m", on=DAY)
    assert train.value == 18.75
    assert "18 m" not in train.text


@pytest.mark.published(
    source="The Road Vehicles (Construction and Use) Regulations 1986 (GB), regulation 16 (3) "
    "(ba): no brakes up to 750 kg of design axle weight; 87 (1) (b): the car's kerbside weight "
    "at least twice the unbraked trailer; 9 and 10: notice above 3 m; read 2026-11-29"
)
def test_brakes_and_height_in_great_britain() -> None:
    brakes = law_of("GB", "brakes_over_kg", on=DAY)
    assert brakes.value == 750
    assert "half of the car's kerb mass" in brakes.text
    assert "over 3 m a notice" in law_of("GB", "height_m", on=DAY).text


@pytest.mark.published(
    source="The Road Vehicles (Display of Registration Marks) Regulations 2001 (GB), regulations "
    "7 (2) and 9 (2): plate on the rear of the trailer, lit between sunset and sunrise; read "
    "2026-11-29"
)
def test_number_plate_of_a_trailer_in_great_britain() -> None:
    text = law_of("GB", "equipment", on=DAY).text
    assert "number plate that shows the car's number, lit from sunset to sunrise" in text


@pytest.mark.published(
    source="The Motorways Traffic (England and Wales) Regulations 1982, regulation 12: a motor "
    "vehicle drawing a trailer, the right hand lane of three or more, save to pass a load of "
    "exceptional width; read 2026-11-29; The Highway Code, rule 265; copy read 2026-11-25"
)
def test_lane_rule_of_great_britain() -> None:
    text = law_of("GB", "lane", on=DAY).text
    assert "right-hand lane" in text
    assert "three or more lanes" in text
    assert "exceptional width" in text


@pytest.mark.published(
    source="The Highway Code, rule 98: mirrors if the trailer is wider or blocks the view; a "
    "secondary coupling device; copy of GOV.UK read 2026-11-29"
)
def test_equipment_rules_of_great_britain() -> None:
    assert "wider than the car" in law_of("GB", "mirrors", on=DAY).text
    assert "second coupling" in law_of("GB", "coupling", on=DAY).text


@pytest.mark.published(
    source="StVO § 18 (1), as of 20 July 2023: not higher than 4 m and not wider than 2.55 m on "
    "motorways; read 2026-11-25"
)
def test_size_on_german_motorways() -> None:
    assert law_of("DE", "height_m", on=DAY).value == 4
    assert law_of("DE", "trailer_width_m", on=DAY).value == 2.55


# Worked example for tyres marked 96/94: 710 kg each on a single axle, 1,420 kg for the pair;
# 670 kg each on two axles, 2,680 kg for the four.
@pytest.mark.published(
    source="Load Index, worked example of dual marking 96/94, "
    "https://trailermedic.co.uk/load-index, stored copy read 2026-11-25"
)
def test_load_of_a_pair_and_of_four_tyres() -> None:
    single, twin = tyre_load_kg(96), tyre_load_kg(94)
    assert single is not None
    assert twin is not None
    assert 2 * single == 1420
    assert 4 * twin == 2680


# The whole table of the French order, which put Directive 92/23/EEC into law, from 60 to 130.
# fmt: off
LOADS_KG = (
    250, 257, 265, 272, 280, 290, 300, 307, 315, 325, 335, 345, 355, 365, 375, 387, 400, 412, 425,
    437, 450, 462, 475, 487, 500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690, 710, 730,
    750, 775, 800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, 1060, 1090, 1120, 1150, 1180,
    1215, 1250, 1285, 1320, 1360, 1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850, 1900,
)
# fmt: on


@pytest.mark.published(
    source="Arrêté du 24 octobre 1994 relatif aux pneumatiques (France), annexe II, symbols of "
    "load-capacity indices and largest mass; text of the public law archive at github.com/etalab/"
    "lois-non-codifiees-et-reglements-francais, read 2026-11-29; 60 to 119 alike at "
    "https://trailermedic.co.uk/load-index"
)
def test_load_index_table() -> None:
    assert [tyre_load_kg(index) for index in range(60, 131)] == list(LOADS_KG)


@pytest.mark.published(
    source="Arrêté du 24 octobre 1994 relatif aux pneumatiques (France), annexe II, 50 to 58; read "
    "2026-11-29"
)
def test_lowest_load_indices() -> None:
    found = [tyre_load_kg(index) for index in range(50, 59)]
    assert found == [190, 195, 200, 206, 212, 218, 224, 230, 236]


@pytest.mark.published(
    source="The Highway Code, rule 98: do not exceed the manufacturer's recommended weight and "
    "tow ball load; copy read 2026-11-25"
)
def test_cautions_give_way_to_plates_and_handbooks() -> None:
    weights, nose = cautions_for("weights", "noseweight")
    assert "plates" in weights
    assert "handbooks" in weights
    assert "lower of the limits" in nose


# Table of regulation 7: a motor vehicle drawing one trailer that is no semi-trailer, 18.75 m;
# 2010 amendment of regulation 8: 2.55 m wide behind any motor vehicle but a motor cycle.
@pytest.mark.published(
    source="The Road Vehicles (Construction and Use) Regulations 1986 (GB), regulation 7, table, "
    "as given at dynesolicitors.co.uk; SI 2010/964, regulation 2; TRL report PPR505: no height "
    "limit in the UK; copies read 2026-11-25"
)
def test_whole_outfit_in_great_britain() -> None:
    assert law_of("GB", "train_length_m", on=DAY).value == 18.75
    assert law_of("GB", "trailer_width_m", on=DAY).value == 2.55
    assert "No law sets a height" in law_of("GB", "height_m", on=DAY).text


def test_every_rule_on_great_britain_has_a_published_source() -> None:
    for rule in RULES:
        assert law_of("GB", rule, on=DAY).basis == "published", rule


@pytest.mark.published(
    source="Reglamento General de Vehículos (RD 2822/1998, ES), anexo IX, tabla 3 and 4.1.2.1, "
    "artículo 13 (4), BOE text at github.com/legalize-dev/legalize-es; Aanwijzing "
    "voertuigafmetingen (BWBR0030825, NL); read 2026-11-29"
)
@pytest.mark.parametrize(("country", "train"), [("ES", 18.75), ("NL", 18)])
def test_sizes_in_spain_and_the_netherlands(country: str, train: float) -> None:
    sizes = {rule: law_of(country, rule, on=DAY).value for rule in RULES if rule.endswith("_m")}
    assert sizes == {
        "trailer_width_m": 2.55,
        "trailer_length_m": 12,
        "train_length_m": train,
        "height_m": 4,
    }


@pytest.mark.published(
    source="Reglamento General de Vehículos (ES), artículos 12 (8.3) and 13 (4): 1,500 kg; StVZO "
    "§ 41 (9): 18 per cent, § 44 (3): 4 per cent, 25 kg (DE); Code de la route R317-18 (FR): "
    "750 kg, 1.5 t with one axle; read 2026-11-29"
)
@pytest.mark.parametrize(
    ("country", "words"),
    [
        ("ES", ("1,500 kg", "second coupling", "off the ground")),
        ("DE", ("18 %", "4 %", "25 kg")),
        ("FR", ("750 kg", "half of the car's empty mass", "1,500 kg")),
    ],
)
def test_caravan_that_comes_loose(country: str, words: tuple[str, ...]) -> None:
    law = law_of(country, "coupling", on=DAY)
    assert law.basis == "published"
    assert all(part in law.text for part in words)


@pytest.mark.published(
    source="StVO 1960 § 46 (4a) (AT): lorries over 7.5 t; Trafikkregler § 5 no. 1 (NO): the lane "
    "furthest right; Forskrift om bruk av kjøretøy § 4-2 no. 7 (NO): 2.5 m and 2 m at 10 m; "
    "RSA, Trailer caravans (IE): 18.75 m; S.I. 190/1963, article 26 (1) (IE): an adequate view of "
    "the road to the rear; read 2026-11-29"
)
def test_lanes_and_mirrors_in_the_alps_and_the_north() -> None:
    assert "only lorries over 7.5 t" in law_of("AT", "lane", on=DAY).text
    assert "lane furthest right" in law_of("NO", "lane", on=DAY).text
    mirrors = law_of("NO", "mirrors", on=DAY).text
    assert all(part in mirrors for part in ("10 m", "2.5 m to the left", "2 m to the right"))
    assert "adequate view of the road behind" in law_of("IE", "mirrors", on=DAY).text
    train = law_of("IE", "train_length_m", on=DAY)
    assert (train.value, train.basis) == (18.75, "published")


@pytest.mark.published(
    source="Code de la route R312-10 and R312-11 by Service-Public (14 March 2022); Codice della "
    "strada art. 61; VRV Art. 64 and 65; Decreto-Lei 132/2017; sondertransporte.gv.at; Dutch "
    "motoring association; copies read 2026-11-25"
)
@pytest.mark.parametrize(
    ("country", "width", "trailer", "train"),
    [
        ("FR", 2.55, 12, 18),
        ("IT", 2.55, 12, 18.75),
        ("CH", 2.55, 12, 18.75),
        ("PT", 2.55, 12, 18.75),
        ("AT", 2.55, 12, 18.75),
        ("NL", 2.55, 12, 18),
    ],
)
def test_sizes_abroad(country: str, width: float, trailer: float, train: float) -> None:
    assert law_of(country, "trailer_width_m", on=DAY).value == width
    assert law_of(country, "trailer_length_m", on=DAY).value == trailer
    assert law_of(country, "train_length_m", on=DAY).value == train


@pytest.mark.published(
    source="European Commission, Mandatory safety equipment for private passenger cars, undated "
    "copy read 2026-11-25: two triangles in Spain, extinguisher in Belgium"
)
def test_what_to_carry_abroad() -> None:
    assert "two warning triangles" in law_of("ES", "equipment", on=DAY).text
    assert "fire extinguisher" in law_of("BE", "equipment", on=DAY).text
    assert "first-aid kit" in law_of("DE", "equipment", on=DAY).text


@pytest.mark.published(
    source="RVV 1990 (NL) article 43 (4): more than 7 m, three or more lanes, the two furthest "
    "right; Codice della strada (IT) article 176 (9): the same; copies read 2026-11-25"
)
@pytest.mark.parametrize("country", ["NL", "IT"])
def test_lanes_for_an_outfit_of_more_than_seven_metres(country: str) -> None:
    text = law_of(country, "lane", on=DAY).text
    assert "longer than 7 m" in text
    assert "three or more lanes" in text
    assert "the two lanes" in text


@pytest.mark.published(
    source="StVZO § 32 (4) no. 3 and § 42 (2) (DE); Royal decree of 15 March 1968, article 32bis "
    "(BE); S.I. 366/2008 (IE): 4.65 m; copies read 2026-11-25"
)
def test_sizes_in_germany_belgium_and_ireland() -> None:
    assert law_of("DE", "train_length_m", on=DAY).value == 18
    assert law_of("BE", "trailer_width_m", on=DAY).value == 2.55
    assert law_of("BE", "trailer_length_m", on=DAY).value == 12
    assert law_of("BE", "height_m", on=DAY).value == 4
    assert law_of("IE", "height_m", on=DAY).value == 4.65


@pytest.mark.published(
    source="Geneva Convention on Road Traffic 1949, Annex 6, I (b); French order on braking, "
    "article 15; StVZO § 42 (2); KFG § 104 (2) c; VTS Art. 189; copies read 2026-11-25"
)
@pytest.mark.parametrize("country", ["GB", "FR", "BE", "DE", "AT", "CH", "IT", "PT", "NO"])
def test_brakes_are_needed_over_750_kg(country: str) -> None:
    rule = law_of(country, "brakes_over_kg", on=DAY)
    assert rule.value == 750
    assert rule.basis == "published"


@pytest.mark.published(
    source="Royal decree of 15 March 1968, article 54 § 2 (BE); VTS Art. 189 (4) (CH): 1,500 kg; "
    "Dutch driving theory: one or the other, never both; copies read 2026-11-25"
)
def test_second_coupling_abroad() -> None:
    assert "no second coupling" in law_of("BE", "coupling", on=DAY).text
    assert "1,500 kg" in law_of("CH", "coupling", on=DAY).text
    assert "never both" in law_of("NL", "coupling", on=DAY).text


# Belgium counts the mass of the outfit and not its length.
@pytest.mark.published(
    source="Reglamento General de Circulación, handbook of the DGT, theme 4 (ES): over 7 m, three "
    "or more lanes; Royal decree of 1 December 1975, article 21.3 (BE): over 3.5 t; Code de la "
    "route R412-25 (FR); copies read 2026-11-25"
)
def test_lanes_in_spain_belgium_and_france() -> None:
    for country in ("ES", "FR"):
        assert "longer than 7 m" in law_of(country, "lane", on=DAY).text
    assert "more than 3,500 kg" in law_of("BE", "lane", on=DAY).text


@pytest.mark.published(
    source="VZV Art. 3 (CH), May 2024: B with a trailer of up to 750 kg, or up to 3,500 kg "
    "together; BE whatever is not covered by B; read 2026-11-25"
)
@pytest.mark.parametrize(
    ("category", "car", "caravan", "covers"),
    [
        ("B", 3500, 750, True),
        ("B", 2000, 1500, True),
        ("B", 2001, 1500, False),
        ("BE", 3500, 3000, True),
        ("BE", 3501, 1500, False),
    ],
)
def test_categories_in_switzerland(category: str, car: float, caravan: float, covers: bool) -> None:
    answer = licence_covers("CH", category, car_gross_kg=car, caravan_plate_kg=caravan, on=DAY)
    assert answer.covers is covers


@pytest.mark.published(
    source="Category C1E of Directive 2006/126/EC: a car of C1 with a trailer, together up to "
    "12,000 kg, as told in Greece, Latvia and by the FICC; read 2026-11-25"
)
@pytest.mark.parametrize(("car", "caravan", "covers"), [(7500, 3500, True), (7500, 4501, False)])
def test_category_c1e(car: float, caravan: float, covers: bool) -> None:
    answer = licence_covers("FR", "C1E", car_gross_kg=car, caravan_plate_kg=caravan, on=DAY)
    assert answer.covers is covers


# The twelve countries: what is held, what is from memory, and what is honestly unknown.
def test_what_is_not_known_of_a_country_says_so() -> None:
    unknown = [
        (country, rule)
        for country in ("GB", "IE", "FR", "BE", "NL", "DE", "ES", "PT", "IT", "CH", "AT", "NO")
        for rule in RULES
        if not law_of(country, rule, on=DAY).known
    ]
    for country, rule in unknown:
        assert law_of(country, rule, on=DAY).text.startswith("unknown")
    assert unknown == []


@pytest.mark.published(
    source="VRV Art. 36 (6) (CH), text of May 2021: the left lane of three only for vehicles that "
    "may exceed 100 km/h; Autovisie, April 2025 (NL: 2 m beside at 10 m behind, 4 m at 20 m; BE: "
    "caravan wider than the car); copies read 2026-11-25"
)
def test_swiss_lanes_and_mirrors_in_the_low_countries() -> None:
    assert "faster than 100 km/h" in law_of("CH", "lane", on=DAY).text
    text = law_of("NL", "mirrors", on=DAY).text
    assert all(part in text for part in ("2 m", "10 m", "4 m", "20 m"))
    assert "wider than the car" in law_of("BE", "mirrors", on=DAY).text


FROM_MEMORY = [
    *(("IE", "trailer_width_m"), ("IE", "trailer_length_m")),
    *(("PT", "lane"), ("PT", "mirrors"), ("PT", "coupling")),
    *(("NO", "trailer_length_m"), ("NO", "coupling"), ("BE", "train_length_m")),
]


@pytest.mark.from_memory(settle="the law named in each row's source, of IE, PT, BE and NO")
@pytest.mark.parametrize(("country", "rule"), FROM_MEMORY)
def test_rule_known_from_memory_says_so(country: str, rule: str) -> None:
    found = law_of(country, rule, on=DAY)
    assert found.text
    assert found.basis == "from memory"
    assert found.source.startswith("from memory; to be settled by")
