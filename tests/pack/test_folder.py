"""The printable folder, read back with PDF readers that did not write it."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pymupdf
import pytest
import segno
import zxingcpp
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, NameObject, NumberObject
from scipy import ndimage

from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.pack import enclosures, write_html_twin, write_pack
from planner_kit.pack.blocks import clean_drawing
from planner_kit.pack.folder import PAGES, TEMPLATE
from planner_kit.plan import TripPlan
from planner_kit.trip.page_look import PAGE_LOOK, PAGE_TEMPLATE

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
    place = kits.index("#for (place, sheet)")
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
    last = [item for item in reader.outline if not isinstance(item, list)][-1]
    assert last.title == "Confirmation: Saltmarsh Farm, Oxharrow"
    assert reader.get_destination_page_number(last) == len(reader.pages) - 2
    assert "2 pages, behind this" in words_of(path)
    # The contents on the cover name the very page on which the confirmation begins.
    assert f"Confirmation: Saltmarsh Farm, Oxharrow {len(reader.pages) - 1}" in words_of(path, 0)
    assert f"Money {reader.get_destination_page_number(_mark(reader, 'Money')) + 1}" in words_of(
        path, 0
    )


def test_folder_with_a_confirmation_is_typeset_to_the_standard(
    plan: TripPlan, tmp_path: Path
) -> None:
    data = confirmation()
    (tmp_path / "confirmation.pdf").write_bytes(data)
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
    assert [tag for tag in tags if tag[0] == "/Figure"][-2:] == [
        ("/Figure", f"Confirmation: Saltmarsh Farm, Oxharrow, page {number} of 2, as it was sent. "
         f"It says: Saltmarsh Farm confirms, leaf {number}")
        for number in (1, 2)
    ]  # fmt: skip
    # Every page keeps its place in the reading order: none is left out of the tags.
    assert all("/StructParents" in page for page in reader.pages)
    # The typesetter checks the whole file before it writes the claim into its metadata.
    with pymupdf.open(path) as document:
        assert "<pdfuaid:part>1</pdfuaid:part>" in document.get_xml_metadata()
        (name,) = document.embfile_names()
        assert name == "confirmation.pdf"
        assert document.embfile_get(name) == data
    assert "attached as confirmation.pdf" in words_of(path)


def test_page_of_a_confirmation_looks_as_it_was_sent(plan: TripPlan, tmp_path: Path) -> None:
    """Drawn by a library that took no part in making the folder."""
    document = pymupdf.open()
    page = document.new_page(width=595.2756, height=841.8898)
    for line in range(30):
        page.insert_text((72, 90 + 14 * line), f"line {line}: seven nights on row C", fontsize=9)
    code = io.BytesIO()
    segno.make("SM-20417").save(code, kind="png", scale=3)
    page.insert_image((400, 600, 460, 660), stream=code.getvalue())
    field = pymupdf.Widget()
    field.rect, field.field_name = pymupdf.Rect(72, 700, 300, 720), "name"
    field.field_type, field.field_value = pymupdf.PDF_WIDGET_TYPE_TEXT, "Merriwether"
    page.add_widget(field)
    page.add_stamp_annot(pymupdf.Rect(300, 300, 500, 360), stamp=0)
    turned = document.new_page(width=595.2756, height=841.8898)
    turned.insert_text((72, 72), "this leaf lies on its side", fontsize=20)
    turned.set_rotation(90)
    (tmp_path / "confirmation.pdf").write_bytes(document.tobytes())
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    with (
        pymupdf.open(path) as folder,
        pymupdf.open(tmp_path / "confirmation.pdf") as sent,
    ):
        for number in (0, 1):
            printed, was = (_seen(one) for one in (folder[number + 1], sent[number]))
            assert printed.shape == was.shape
            assert (was < 128).sum() > 500
            # Edges differ by a shade, no mark is missing and none stands elsewhere.
            assert abs(_blurred(printed) - _blurred(was)).max() < 40
        found = zxingcpp.read_barcodes(_seen(folder[1], dpi=200))
    assert [one.text for one in found] == ["SM-20417"]
    root = PdfReader(path).trailer["/Root"]
    words = [words for tag, words in _tags(root["/StructTreeRoot"]["/K"]) if tag == "/Figure"]
    assert "line 29: seven nights on row C" in words[0]
    assert "Merriwether" in words[0]
    assert "this leaf lies on its side" in words[1]


def _seen(page: pymupdf.Page, dpi: int = 72) -> np.ndarray[Any, Any]:
    dots = page.get_pixmap(dpi=dpi, colorspace=pymupdf.csGRAY, alpha=False)
    return np.frombuffer(dots.samples, np.uint8).reshape(dots.height, dots.width)


def _blurred(dots: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    return ndimage.uniform_filter(dots.astype(float), 6)


@pytest.mark.parametrize(
    ("width", "height", "turned"),
    [(595, 842, False), (842, 595, True), (1191, 1684, False), (226, 700, False), (3, 14400, False),
     (14400, 14400, False), (1, 1, False)],
)  # fmt: skip
def test_page_of_any_size_stands_on_our_paper(
    plan: TripPlan, tmp_path: Path, width: float, height: float, *, turned: bool
) -> None:
    document = pymupdf.open()
    document.new_page(width=width, height=height).draw_rect(pymupdf.Rect(0, 0, width, height / 2),
                                                            fill=(0, 0, 0))  # fmt: skip
    (tmp_path / "confirmation.pdf").write_bytes(document.tobytes())
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    assert b"<pdfuaid:part>1</pdfuaid:part>" in path.read_bytes()
    with pymupdf.open(path) as folder:
        page = folder[1]
        size = (page.rect.width, page.rect.height)
        assert size == pytest.approx((841.9, 595.3) if turned else (595.3, 841.9), abs=0.1)
        dark = np.argwhere(_seen(page, dpi=144) < 128)
        assert len(dark) > 0
        assert dark[:, 0].max() <= page.rect.height + 1


def scan(pages: int) -> bytes:
    """Photographs of paper, as a phone makes them."""
    words = pymupdf.open()
    words.new_page().insert_text((72, 200), "Scanned: row C", fontsize=40)
    dots = words[0].get_pixmap(dpi=150)
    noise = np.random.default_rng(7).normal(0, 12, (dots.height, dots.width, 3))
    grey = np.frombuffer(dots.samples, np.uint8).reshape(dots.height, dots.width, 3)
    picture = io.BytesIO()
    Image.fromarray((grey * 0.9 + noise).clip(0, 255).astype(np.uint8)).save(picture, "JPEG")
    document = pymupdf.open()
    for _ in range(pages):
        page = document.new_page()
        page.insert_image(page.rect, stream=picture.getvalue())
    return document.tobytes()


def test_scan_is_a_photograph_that_says_it_has_no_words(plan: TripPlan, tmp_path: Path) -> None:
    (tmp_path / "confirmation.pdf").write_bytes(scan(1))
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    reader = PdfReader(path)
    (picture,) = reader.pages[-1]["/Resources"]["/XObject"].values()
    assert picture.get_object()["/Filter"] == "/DCTDecode"
    assert picture.get_object()["/Width"] == pytest.approx(595 / 72 * 200, abs=3)
    tags = list(_tags(reader.trailer["/Root"]["/StructTreeRoot"]["/K"]))
    assert tags[-1][1].endswith("page 1 of 1, as it was sent. It holds no words that can be read.")
    with pymupdf.open(path) as folder, pymupdf.open(tmp_path / "confirmation.pdf") as sent:
        differs = _blurred(_seen(folder[1])[:840, :590]) - _blurred(_seen(sent[0])[:840, :590])
        assert abs(differs).max() < 40


def small_print(pages: int) -> bytes:
    document = pymupdf.open()
    for leaf in range(pages):
        page = document.new_page()
        for line in range(45):
            words = f"{leaf}.{line} the party keeps the pitch tidy and the dog on a lead " * 2
            page.insert_text((50, 60 + 16 * line), words, fontsize=8)
    return document.tobytes()


def test_long_confirmation_keeps_the_folder_small_and_says_so(
    plan: TripPlan, tmp_path: Path
) -> None:
    data = small_print(200)
    (tmp_path / "confirmation.pdf").write_bytes(data)
    path = write_pack(plan, tmp_path / "out")
    assert path.stat().st_size < 15_000_000
    assert "only pages 1 to 40 of 200, behind this; attached" in words_of(path)
    root = PdfReader(path).trailer["/Root"]
    words = [words for tag, words in _tags(root["/StructTreeRoot"]["/K"]) if tag == "/Figure"]
    assert [f"It says: {leaf}.0 the party" in words[leaf - 40] for leaf in range(40)] == [True] * 40
    with pymupdf.open(path) as folder:
        assert "<pdfuaid:part>1</pdfuaid:part>" in folder.get_xml_metadata()
        assert folder.embfile_get("confirmation.pdf") == data


def test_scans_of_many_pages_are_less_sharp_and_say_so(plan: TripPlan, tmp_path: Path) -> None:
    (tmp_path / "confirmation.pdf").write_bytes(scan(26))
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    assert path.stat().st_size < 15_000_000
    assert "26 pages, behind this; less sharp (" in words_of(path)


def test_drawing_too_large_for_the_folder_becomes_a_picture(
    plan: TripPlan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(enclosures, "_MAX_DRAWN_BYTES", 40_000)
    (tmp_path / "confirmation.pdf").write_bytes(small_print(1))
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    with pymupdf.open(path) as folder:
        assert folder[1].get_images()
    assert path.stat().st_size < 150_000


def test_words_of_a_page_full_of_lines_are_left_out_and_it_says_so(
    plan: TripPlan, tmp_path: Path
) -> None:
    document, rng = pymupdf.open(), np.random.default_rng(5)
    shape = document.new_page().new_shape()
    shape.draw_polyline([pymupdf.Point(*at) for at in rng.uniform(50, 550, (120_000, 2))])
    shape.finish(width=0.1)
    shape.commit()
    (tmp_path / "confirmation.pdf").write_bytes(document.tobytes())
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    root = PdfReader(path).trailer["/Root"]
    words = [words for tag, words in _tags(root["/StructTreeRoot"]["/K"]) if tag == "/Figure"]
    assert words[-1].endswith("The page is too full for its words to be read.")


def test_page_of_small_print_takes_little_room_and_looks_as_sent(
    plan: TripPlan, tmp_path: Path
) -> None:
    (tmp_path / "confirmation.pdf").write_bytes(small_print(1))
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    assert path.stat().st_size < 200_000
    with pymupdf.open(path) as folder, pymupdf.open(tmp_path / "confirmation.pdf") as sent:
        assert not folder[1].get_images()
        printed, was = _seen(folder[1], dpi=144)[:1680, :1188], _seen(sent[0], dpi=144)
        was = was[: printed.shape[0], :1188]
        assert (was < 128).sum() > 5000
        assert abs(_blurred(printed) - _blurred(was)).max() < 40


def test_file_too_large_to_attach_is_drawn_and_said(plan: TripPlan, tmp_path: Path) -> None:
    document = pymupdf.open(stream=confirmation(1))
    document.embfile_add("padding", np.random.default_rng(3).bytes(6_500_000))
    (tmp_path / "confirmation.pdf").write_bytes(document.tobytes())
    path = write_pack(plan, tmp_path / "out", pages=["confirmations"])
    assert path.stat().st_size < 100_000
    assert "1 page, behind this; the file itself is too large to attach" in words_of(path)


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
    reader = PdfReader(write_pack(plan, tmp_path / "out", pages=["confirmations"]))
    assert "/Annots" not in reader.pages[-1]
    assert "/AA" not in reader.pages[-1]
    assert "/JavaScript" not in str(reader.trailer["/Root"].get("/Names", "")) + str(
        reader.trailer["/Root"].get("/OpenAction", "")
    )


def locked() -> bytes:
    writer = PdfWriter(clone_from=io.BytesIO(confirmation()))
    writer.encrypt("secret", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def locked_anew() -> bytes:
    """With the lock of PDF 2.0."""
    with pymupdf.open(stream=confirmation()) as document:
        lock = pymupdf.PDF_ENCRYPT_AES_256
        return bytes(document.tobytes(encryption=lock, user_pw="secret", owner_pw="other"))


def huge_picture() -> bytes:
    """A picture that says it is a hundred thousand dots wide and high."""
    document = pymupdf.open()
    picture = io.BytesIO()
    Image.new("L", (20, 20)).save(picture, "PNG")
    document.new_page().insert_image((50, 50, 90, 90), stream=picture.getvalue())
    writer = PdfWriter(clone_from=io.BytesIO(document.tobytes()))
    (shown,) = (one.get_object() for one in writer.pages[0]["/Resources"]["/XObject"].values())
    shown[NameObject("/Width")] = shown[NameObject("/Height")] = NumberObject(100_000)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def no_pages() -> bytes:
    out = io.BytesIO()
    PdfWriter().write(out)
    return out.getvalue()


@pytest.mark.filterwarnings("ignore::UserWarning")
@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "it is damaged or not a PDF"),
        (b"%PDF-1.7\nnothing", "it is damaged or not a PDF"),
        (confirmation()[:400], "it is damaged or not a PDF"),
        (no_pages(), "it has no pages"),
        (b"<html>", "it is damaged or not a PDF"),
        (confirmation().replace(b"/FlateDecode", b"/FlateDxcode"), "it is damaged or not a PDF"),
        (locked(), "it is locked, with a password or against changes"),
        (locked_anew(), "it is locked, with a password or against changes"),
        (bytes(40_000_001), "it is larger than 40 MB"),
        (huge_picture(), "a picture in it is too large"),
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
    assert b"<pdfuaid:part>1</pdfuaid:part>" in (tmp_path / "out" / "pack.pdf").read_bytes()


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
