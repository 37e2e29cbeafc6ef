"""The printable folder, read back with PDF readers that did not write it."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pymupdf
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, NameObject

from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.pack import write_html_twin, write_pack
from planner_kit.pack.blocks import clean_drawing
from planner_kit.pack.folder import PAGES, TEMPLATE
from planner_kit.plan import TripPlan
from planner_kit.trip_files import PAGE_LOOK, PAGE_TEMPLATE

MakePlan = Callable[..., TripPlan]
HOSTILE = (
    '#import "@preview/x:1.0.0": * $x^2$ <script>alert(1)</script> \\*_`@ref //note '
    "שלום עולם \u202egnp.exe مرحبا 😀 🏕 你好 #eval(\"1\")"
)  # fmt: skip


def words_of(path: Path, page: int | None = None) -> str:
    """The text of the PDF in reading order, with all white space as one blank."""
    with pymupdf.open(path) as document:
        pages = document if page is None else [document[page]]
        return " ".join(" ".join(p.get_text() for p in pages).split())


def confirmation(pages: int = 2) -> bytes:
    document = pymupdf.open()
    for number in range(pages):
        document.new_page().insert_text((72, 72), f"Saltmarsh Farm confirms, leaf {number + 1}")
    return document.tobytes()


def with_look(plan: TripPlan, template: Path) -> TripPlan:
    paths = {**plan.files.paths, PAGE_LOOK: template}
    return replace(plan, files=replace(plan.files, paths=paths))


def test_a_household_gives_the_pages_a_look_of_its_own(plan: TripPlan, tmp_path: Path) -> None:
    look = tmp_path / "look"
    look.mkdir()
    (look / "sign.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><rect width="9" height="9"/>'
        "</svg>"
    )
    template = look / PAGE_TEMPLATE
    kits = TEMPLATE.read_text(encoding="utf-8")
    own = '#image("sign.svg", alt: "our sign")\nOur folder, our way.\n'
    place = kits.index("#for sheet")
    template.write_text(kits[:place] + own + kits[place:], encoding="utf-8")
    path = write_pack(with_look(plan, template), tmp_path)
    assert "Our folder, our way." in words_of(path)
    assert "Hitch down on the ball" in words_of(path)
    assert "Our folder, our way." not in words_of(write_pack(plan, tmp_path))


def test_a_look_that_cannot_be_typeset_names_its_file(plan: TripPlan, tmp_path: Path) -> None:
    template = tmp_path / PAGE_TEMPLATE
    template.write_text("#let x = (\n", encoding="utf-8")
    with pytest.raises(PlanFileError, match=r"pack\.typ.*typesetter cannot use it"):
        write_pack(with_look(plan, template), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_facts_of_the_trip_stand_in_reading_order(plan: TripPlan, tmp_path: Path) -> None:
    path = write_pack(plan, tmp_path)
    cover = words_of(path, 0)
    words = cover + words_of(path)[len(cover) :]
    facts = (
        "A week at Oxharrow",
        "Saturday, 24 July 2027",
        "who may drive the outfit",
        "Deadlines and bookings",
        "SM-20417",
        "Towing out: Saturday, 24 July 2027",
        "Hitch down on the ball",
        "Route card",
        "The outfit",
        "1,462 kg, limit 1,500 kg",
        "ESE (118°), 2.1 miles",
        "Penny Holm Lighthouse",
        "If it rains",
        "£190.00 to £300.00",
        "toilet fluid",
        "999 or 112",
        "What the map and the lists do not say",
        "Width of Marsh Lane",
        "Where this comes from",
    )
    place = 0
    for fact in facts:
        if fact == "Deadlines and bookings":
            place = len(cover)  # the cover's list of sheets names it first
        found = words.find(fact, place)
        assert found >= 0, fact
        place = found


def test_fonts_are_embedded_and_the_document_names_itself(plan: TripPlan, tmp_path: Path) -> None:
    path = write_pack(plan, tmp_path)
    reader = PdfReader(path)
    fonts = [font for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert {"/FontFile2", "/FontFile3"} & set(descriptor.get_object())
    root = reader.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    assert root["/MarkInfo"]["/Marked"]
    assert reader.metadata.title == "A week at Oxharrow"
    assert reader.metadata.creation_date.date() == plan.planned_on
    assert b"<pdfuaid:part>1</pdfuaid:part>" in path.read_bytes()
    titles = [item.title for item in reader.outline if not isinstance(item, list)]
    assert titles[:2] == ["A week at Oxharrow", "Deadlines and bookings"]


def test_every_drawing_has_words_in_its_stead(plan: TripPlan, tmp_path: Path) -> None:
    reader = PdfReader(write_pack(plan, tmp_path, pages=["tow"]))
    alternatives = [
        str(thing.get_object()["/Alt"])
        for number in range(1, reader.trailer["/Size"])
        if isinstance(thing := reader.get_object(number), dict) and "/Alt" in thing
    ]
    assert sorted(set(alternatives))[0] == "Heights along the tow."
    # two days, and the way out in two strips
    assert sum(text.startswith("Map of the tow from") for text in alternatives) == 4


def test_same_plan_gives_the_same_bytes(plan: TripPlan, tmp_path: Path) -> None:
    (tmp_path / "confirmation.pdf").write_bytes(confirmation())
    first = write_pack(plan, tmp_path / "a").read_bytes()
    assert write_pack(plan, tmp_path / "b").read_bytes() == first
    assert len(first) < 1_000_000


def test_paper_is_the_household_s_unless_named(make_plan: MakePlan, tmp_path: Path) -> None:
    letter = make_plan(household={"units": {"paper": "Letter", "locale": "en-US"}})
    box = PdfReader(write_pack(letter, tmp_path)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((612, 792), abs=0.5)
    box = PdfReader(write_pack(letter, tmp_path, paper="A4")).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((595.3, 841.9), abs=0.5)


def test_hostile_words_print_as_words(make_plan: MakePlan, tmp_path: Path) -> None:
    plan = make_plan(
        household={"name": HOSTILE, "contacts": [{"name": HOSTILE, "phone": "$x$ #panic()"}]},
        trip={"name": HOSTILE[:200], "notes": [HOSTILE, "#{", "*a\x00b\x07*"]},
    )
    outings = plan.outings[0]
    ranking = outings.ranking.assign(name=HOSTILE, opening_hours='#read("/etc/passwd")')
    sites = plan.files.sites.assign(name=HOSTILE)
    plan = replace(
        plan,
        outings=(replace(outings, ranking=ranking),),
        files=replace(plan.files, sites=sites),
    )
    words = words_of(write_pack(plan, tmp_path))
    for part in ("#import \"@preview/x:1.0.0\": *", "$x^2$", "<script>alert(1)</script>",
                 "$x$ #panic()", "#read(\"/etc/passwd\")", "*ab*", "你好", "😀"):  # fmt: skip
        assert part in words, part
    assert "root:" not in words
    assert "\u202e" not in words


def test_words_written_from_right_to_left_print_and_show(
    make_plan: MakePlan, tmp_path: Path
) -> None:
    hebrew, arabic = "טיול הקיץ", "رحلة الصيف"
    plan = make_plan(trip={"name": f"{hebrew} 2027 {arabic}"}, household={"name": hebrew})
    with pymupdf.open(write_pack(plan, tmp_path)) as document:
        cover = unicodedata.normalize("NFKC", document[0].get_text())
        assert document.metadata is not None
        assert document.metadata["title"] == plan.files.inputs.trip.name
    # A reader of PDF hands on letters as they are set: each word is there, in either direction.
    for word in (*hebrew.split(), *arabic.split()):
        assert word in cover or word[::-1] in cover, word
    page = write_html_twin(plan, tmp_path).read_text(encoding="utf-8")
    assert hebrew in page
    assert arabic in page


def test_bare_trip_still_prints_and_says_what_is_missing(
    bare_plan: TripPlan, tmp_path: Path
) -> None:
    words = words_of(write_pack(bare_plan, tmp_path))
    for said in (
        "No deadline is known",
        "reference none yet",
        "The heights along the way are not known",
        "No rest is planned on this tow",
        "Nothing could be checked: the household file gives no plates",
        "Nothing is known about what the pitches ask for",
        "The household file names nobody",
    ):
        assert said in words, said


def test_unknown_figures_print_as_unknown_and_never_as_zero(plan: TripPlan, tmp_path: Path) -> None:
    outfit = replace(plan.outfit.outfit, height_m=None, train_kg=None)
    unsure = replace(plan, outfit=replace(plan.outfit, outfit=outfit))
    words = words_of(write_pack(unsure, tmp_path, pages=["outfit", "money", "outings"]))
    assert "height unknown" in words
    assert "together unknown" in words
    assert re.search(r"Quay Street Museum no price in attractions.csv unknown unknown", words)
    assert "unknown, limit 1,150 kg" in words
    assert "leaves out 1 line whose price is not known" in words
    assert "nan" not in words.lower().replace("finance", "")


def test_states_are_told_by_mark_and_word(plan: TripPlan, tmp_path: Path) -> None:
    words = words_of(write_pack(plan, tmp_path, pages=["outfit"]))
    for mark, word in (("●", "fine"), ("▲", "look at this"), ("■", "not fine"), ("◇", "unknown")):
        assert f"{mark} {word}" in words


def test_only_the_pages_asked_for(plan: TripPlan, tmp_path: Path) -> None:
    words = words_of(write_pack(plan, tmp_path, pages=["money", "cover"]))
    assert words.index("Look at these first") < words.index("Line by line")
    assert "Route card" not in words
    with pytest.raises(PlannerKitError, match=r"pages: 'mony' is not known; did you mean 'money'"):
        write_pack(plan, tmp_path, pages=["mony"])
    with pytest.raises(PlannerKitError, match="none is named"):
        write_pack(plan, tmp_path, pages=[])
    assert len(PAGES) == len(set(PAGES))


@pytest.mark.parametrize("page", PAGES)
def test_each_page_prints_alone(plan: TripPlan, tmp_path: Path, page: str) -> None:
    assert len(PdfReader(write_pack(plan, tmp_path, pages=[page])).pages) >= 1


def test_confirmations_are_appended_with_a_bookmark(plan: TripPlan, tmp_path: Path) -> None:
    (tmp_path / "confirmation.pdf").write_bytes(confirmation())
    path = write_pack(plan, tmp_path / "out")
    reader = PdfReader(path)
    assert "confirms, leaf 2" in reader.pages[-1].extract_text()
    last = [item for item in reader.outline if not isinstance(item, list)][-1]
    assert last.title == "Confirmation: Saltmarsh Farm, Oxharrow"
    assert reader.get_destination_page_number(last) == len(reader.pages) - 2
    assert "2 pages, behind this" in words_of(path)
    # The contents on the cover name the very page on which the confirmation begins.
    assert f"Confirmation: Saltmarsh Farm, Oxharrow {len(reader.pages) - 1}" in words_of(path, 0)
    assert f"Money {reader.get_destination_page_number(_mark(reader, 'Money')) + 1}" in words_of(
        path, 0
    )


def test_tags_and_reading_order_hold_with_a_confirmation_behind(
    plan: TripPlan, tmp_path: Path
) -> None:
    (tmp_path / "confirmation.pdf").write_bytes(confirmation())
    path = write_pack(plan, tmp_path / "out")
    reader = PdfReader(path)
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert reader.metadata.title == "A week at Oxharrow"
    tags = list(_tags(root["/StructTreeRoot"]["/K"]))
    ours = list(_tags(PdfReader(write_pack(plan, tmp_path / "none", pages=PAGES[:-1]))
                      .trailer["/Root"]["/StructTreeRoot"]["/K"]))  # fmt: skip
    assert [name for name, _ in ours if name == "/H1"]
    # Ours come first and are all there, then the pages of the confirmation with their words.
    assert [name for name, _ in tags].count("/Table") == [name for name, _ in ours].count(
        "/Table"
    ) + 1
    assert tags[-2:] == [
        ("/Figure", f"Confirmation: Saltmarsh Farm, Oxharrow, page {number} of 2, as it was sent. "
         f"It says: Saltmarsh Farm confirms, leaf {number}")
        for number in (1, 2)
    ]  # fmt: skip
    assert tags[-3][0] == "/H1"
    # Every page keeps its place in the reading order: none is left out of the tags.
    assert all("/StructParents" in page for page in reader.pages)
    # The claim speaks for a whole file, and nobody here can vouch for the pages of others.
    assert b"pdfuaid" not in path.read_bytes()


def _tags(node: Any) -> Iterator[tuple[str, str]]:
    """The tags of a document in reading order, each with the words that stand in its stead."""
    node = node.get_object()
    if isinstance(node, list):
        for one in node:
            yield from _tags(one)
    elif isinstance(node, dict) and "/S" in node:
        yield str(node["/S"]), str(node.get("/Alt", ""))
        if "/K" in node:
            yield from _tags(node["/K"])


def _mark(reader: PdfReader, title: str) -> Any:
    """The bookmark of a sheet."""
    every = [i for item in reader.outline for i in (item if isinstance(item, list) else [item])]
    return next(item for item in every if item.title == title)


def test_scripts_and_links_of_a_confirmation_stay_behind(plan: TripPlan, tmp_path: Path) -> None:
    writer = PdfWriter(clone_from=io.BytesIO(confirmation(1)))
    writer.pages[0][NameObject("/AA")] = DictionaryObject(
        {NameObject("/O"): DictionaryObject({NameObject("/S"): NameObject("/JavaScript")})}
    )
    writer.add_uri(0, "https://example.invalid/track", (10, 10, 90, 90))
    writer.write(tmp_path / "confirmation.pdf")
    reader = PdfReader(write_pack(plan, tmp_path / "out"))
    assert "/Annots" not in reader.pages[-1]
    assert "/AA" not in reader.pages[-1]


def locked() -> bytes:
    writer = PdfWriter(clone_from=io.BytesIO(confirmation()))
    writer.encrypt("secret", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


@pytest.mark.filterwarnings("ignore::UserWarning")
@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "it is damaged or not a PDF"),
        (b"%PDF-1.7\nnothing", "it is damaged or not a PDF"),
        (confirmation()[:400], "it is damaged or not a PDF"),
        (b"<html>", "it is damaged or not a PDF"),
        (confirmation().replace(b"/FlateDecode", b"/FlateDxcode"), "it is damaged or not a PDF"),
        (locked(), "it is locked with a password"),
        (confirmation(200), "it has 200 pages, not 1 to 60"),
        (bytes(12_000_001), "it would make the folder larger than 15 MB"),
        (None, "there is no such file"),
    ],
)
def test_confirmation_that_cannot_be_used_is_named(
    plan: TripPlan, tmp_path: Path, data: bytes | None, why: str
) -> None:
    if data is not None:
        (tmp_path / "confirmation.pdf").write_bytes(data)
    words = words_of(write_pack(plan, tmp_path / "out", pages=["confirmations"]))
    assert f"could not be included: {why}" in words
    assert "Print what could not be included by itself" in words


def test_confirmation_outside_the_trip_s_folder_is_not_read(
    make_plan: MakePlan, tmp_path: Path
) -> None:
    stay: dict[str, Any] = {
        "site": "saltmarsh", "nights": 7, "booking": {"confirmation": "../../secret.pdf"}
    }  # fmt: skip
    (tmp_path.parent.parent / "secret.pdf").write_bytes(confirmation())
    plan = make_plan(trip={"stays": [stay]})
    words = words_of(write_pack(plan, tmp_path, pages=["confirmations"]))
    assert "leads out of the trip's folder" in words
    assert "confirms" not in words


def test_folder_that_cannot_be_written_leaves_nothing(plan: TripPlan, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(PlanFileError, match="cannot be written"):
        write_pack(plan, tmp_path / "file", pages=["cover"])
    assert [entry.name for entry in tmp_path.iterdir()] == ["file"]


def test_plan_is_not_altered_by_printing(plan: TripPlan, tmp_path: Path) -> None:
    before = (
        plan.cost.lines.copy(),
        plan.tow.legs[0].route.steps.copy(),
        plan.outings[0].days.copy(),
    )
    write_pack(plan, tmp_path)
    after = plan.cost.lines, plan.tow.legs[0].route.steps, plan.outings[0].days
    for one, other in zip(before, after, strict=True):
        assert one.equals(other)


@pytest.mark.parametrize(
    "words", ["\U0001f3d5\ufe0f\u200d", "m\u064e\u0631\u0652", "e\u0489", "a\U000e0041", "\ufeffx"]
)
def test_marks_that_no_font_has_are_left_out_of_a_drawing(words: str) -> None:
    svg = f'<svg xmlns="http://www.w3.org/2000/svg"><text>{words}</text></svg>'
    kept = clean_drawing(svg)
    assert not any(unicodedata.category(sign) in {"Mn", "Me", "Cf"} for sign in kept)
    assert clean_drawing("<text>e\u0301</text>") == "<text>\u00e9</text>"
