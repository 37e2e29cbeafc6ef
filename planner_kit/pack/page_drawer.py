"""Pages of a stranger's PDF as drawings, made in a process of its own.

What others wrote may be damaged, endless or packed too tightly, and a library that draws it may
stop the whole process: so this file is also run by itself, with an end to its time and memory.
It imports nothing of the kit.
"""

from __future__ import annotations

import base64
import io
import json
import logging
import math
import re
import subprocess
import sys
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typst
from PIL import Image

if TYPE_CHECKING:
    from collections.abc import Sequence

_LOG = logging.getLogger(__name__)
# The file, and width and height of the page in points.
Drawing = tuple[str, float, float]
SOURCE = "source.pdf"
_LIMIT_S = 120
_LIMIT_BYTES = 4 * 1024**3
_LEAST_DPI = 60
# The longest side of a picture, that of A4 at full sharpness.
_LONGEST_PX = 2339
_INNER = re.compile(rb"data:image/svg\+xml;base64,([A-Za-z0-9+/=]+)")
_PICTURE = re.compile(rb'"data:image/png;base64,([A-Za-z0-9+/=]+)"')
_BOX = re.compile(rb'viewBox="0 0 ([0-9.e+-]+) ([0-9.e+-]+)"')
# A letter's outline, and a letter that is drawn in one colour and nothing more.
_OUTLINE = re.compile(rb'<path id="(g\d+)" d="([MLCQZ0-9eE.,+\- ]+)"/>\s*')
_LETTER = re.compile(
    rb'<use xlink:href="#(g\d+)" transform="(translate|matrix)\(([0-9eE.+\- ]+)\)" '
    rb'fill="(#[0-9a-f]{6})"/>\s*'
)
_USED = re.compile(rb'"#(g\d+)"')
_COORDINATES_OF = {"M": 2, "L": 2, "C": 6, "Q": 4, "Z": 0}
_ONLY_NUMBERS = bytes.maketrans(b"MLCQZ,", b"      ")
_NOT_COMMANDS = b"0123456789.,+-eE "
_LETTER_STEPS = 10  # a letter's longer side is counted in 512 to 1024 steps
_PAGES = """
#set page(width: auto, height: auto, margin: 0pt, fill: white)
#for n in json("wanted.json") {{
  pagebreak(weak: true)
  context {{
    let it = image("source.pdf", page: n)
    let size = measure(it)
    let most = calc.max(size.width, size.height, 1pt)
    scale(calc.min({most_pt}pt / most, 1) * 100%, reflow: true, it)
  }}
}}
"""
_TRIAL = """
#set document(title: "trial")
#for name in json("drawn.json").files { image(name, alt: "trial", width: 90%) }
"""


class _Values(dict[bytes, float]):
    """Numbers by their words: the same few thousand stand in an outline after the other."""

    def __missing__(self, word: bytes) -> float:
        value = self[word] = float(word)
        return value


class DrawingError(Exception):
    """The pages cannot be drawn."""


def draw_pages(
    folder: Path, numbers: Sequence[int], share_bytes: int, photos: Sequence[int], dpi: int
) -> dict[str, Any]:
    """Draw pages of a PDF in a process of its own.

    Parameters
    ----------
    folder : Path
        Holds `SOURCE`; the drawings are put beside it.
    numbers : sequence of int
        Which pages, from 1, in their order.
    share_bytes : int
        What all the drawings may take in the folder's PDF. [byte]
    photos : sequence of int
        Those of them that are better drawn as pictures from the start: scans.
    dpi : int
        How sharp a picture is at the most, in dots an inch.

    Returns
    -------
    drawn : dict
        ``files``: their names in order; ``sizes``: width and height of each page; [pt]
        ``dpi``: the sharpness of pictures, 0 where all are line drawings, sharp at any size;
        ``bytes``: what they take in a PDF.

    Raises
    ------
    DrawingError
        If the pages cannot be drawn within the time and memory for it.
    """
    asked = json.dumps(
        {"numbers": list(numbers), "share": share_bytes, "photos": list(photos), "dpi": dpi}
    )
    # With -P no module of this folder stands in for one of Python's own.
    command = [sys.executable, "-P", __file__, str(folder), asked]
    try:
        done = subprocess.run(command, capture_output=True, timeout=_LIMIT_S, check=False)
    except subprocess.TimeoutExpired:
        raise DrawingError(f"its pages took longer than {_LIMIT_S} s to draw") from None
    if done.returncode != 0:
        _LOG.info("The pages could not be drawn: %s", done.stderr.decode(errors="replace")[-2000:])
        raise DrawingError("it is damaged")
    found: dict[str, Any] = json.loads((folder / "drawn.json").read_text(encoding="utf-8"))
    return found


def main(folder: str, asked: str) -> None:
    """Draw, as line drawings where these are small enough, else as pictures."""
    _limit_memory()
    root, wanted = Path(folder), json.loads(asked)
    every, photos, share = wanted["numbers"], wanted["photos"], wanted["share"]
    lines = _as_lines(root, [number for number in every if number not in photos])
    of_photos = share * len(photos) // len(every)
    drawn = _sized(root, lines, *_as_pictures(root, photos, photos, of_photos, wanted["dpi"]))
    if drawn["bytes"] > share and lines:
        _sized(root, {}, *_as_pictures(root, every, photos, share, wanted["dpi"]))


def _limit_memory() -> None:
    try:
        import resource
    except ImportError:  # Windows has none; the end to the time holds there too
        return
    resource.setrlimit(resource.RLIMIT_AS, (_LIMIT_BYTES, _LIMIT_BYTES))


def _as_lines(root: Path, numbers: Sequence[int]) -> dict[int, Drawing]:
    drawings = _typeset(root, numbers, most_pt=14_400, format="svg")
    found: dict[int, Drawing] = {}
    for number, drawing in zip(numbers, drawings, strict=True):
        box = _BOX.search(drawing)
        if box is None:
            raise DrawingError("a page has no size")
        # The page stands as a drawing inside a drawing; alone it takes half the time to set.
        inner = _INNER.findall(drawing)
        alone = base64.b64decode(inner[0]) if len(inner) == 1 else drawing
        name = f"page_{number}.svg"
        (root / name).write_bytes(_once_drawn(_PICTURE.sub(_lighter, alone)))
        found[number] = name, float(box[1]), float(box[2])
    return found


def _once_drawn(drawing: bytes) -> bytes:
    """A drawing in which a letter that stands on many places has one outline, in whole numbers.

    The outlines come with their places on the line written into them, so that no two are alike: a
    page of small print then takes two megabytes. A letter is told apart to a thousandth of its
    size or less; what is not a letter in one colour stays as it was.
    """
    value_of = _Values().__getitem__
    found: dict[bytes, tuple[int, float, float, float]] = {}
    outlines: dict[tuple[str, tuple[int, ...]], int] = {}
    for name, outline in _OUTLINE.findall(drawing):
        commands = outline.translate(None, _NOT_COMMANDS).decode()
        numbers = [*map(value_of, outline.translate(_ONLY_NUMBERS).split())]
        if len(numbers) != sum(map(_COORDINATES_OF.__getitem__, commands)):
            continue  # written in some other way
        xs, ys = numbers[::2], numbers[1::2]
        size = max(max(xs) - min(xs), max(ys) - min(ys)) if numbers else 0.0
        if not 1e-6 < size < 1e6:
            continue
        step = 2.0 ** (math.ceil(math.log2(size)) - _LETTER_STEPS)
        x, y = numbers[:2]
        places = (*[round((v - x) / step) for v in xs], *[round((v - y) / step) for v in ys])
        number = outlines.setdefault((commands, places), len(outlines))
        found[name] = number, x, y, step

    def set_anew(letter: re.Match[bytes]) -> bytes:
        known = found.get(letter[1])
        if known is None:
            return letter[0]
        number, x, y, step = known
        told = [float(word) for word in letter[3].split()]
        a, b, c, d, e, f = (1, 0, 0, 1, *told) if letter[2] == b"translate" else told
        return (
            f'<use xlink:href="#o{number}" transform="matrix({a * step:.6g} {b * step:.6g} '
            f'{c * step:.6g} {d * step:.6g} {e + a * x + c * y:.3f} {f + b * x + d * y:.3f})" '
        ).encode() + b'fill="%s"/>' % letter[4]

    anew = _LETTER.sub(set_anew, drawing)
    kept = set(_USED.findall(anew))
    anew = _OUTLINE.sub(lambda outline: outline[0] if outline[1] in kept else b"", anew)
    drawn = "".join(
        f'<path id="o{number}" d="{_written(*outline)}"/>' for outline, number in outlines.items()
    )
    head, end, tail = anew.rpartition(b"</svg>")
    return b"%s<defs>%s</defs>%s%s" % (head, drawn.encode(), end, tail) if drawn else drawing


def _written(commands: str, places: Sequence[int]) -> str:
    """An outline as a drawing writes it, from all places across and then all places down."""
    half = len(places) // 2
    rest = (place for pair in zip(places[:half], places[half:], strict=True) for place in pair)
    words = []
    for command in commands:
        words.append(command)
        words.append(" ".join(str(next(rest)) for _ in range(_COORDINATES_OF[command])))
    return "".join(words)


def _typeset(root: Path, numbers: Sequence[int], *, most_pt: float, **how: Any) -> list[bytes]:
    if not numbers:
        return []
    main_file = root / "pages.typ"
    (root / "wanted.json").write_text(json.dumps(numbers), encoding="utf-8")
    main_file.write_text(_PAGES.format(most_pt=most_pt), encoding="utf-8")
    made = typst.compile(str(main_file), root=str(root), ignore_system_fonts=True, **how)
    return list(made) if isinstance(made, list) else [bytes(made)]


def _sized(
    root: Path, lines: dict[int, Drawing], pictures: dict[int, Drawing], dpi: int
) -> dict[str, Any]:
    """With what the drawings take once set; one that cannot be set is refused here."""
    ordered = [drawing for _, drawing in sorted((lines | pictures).items())]
    drawn: dict[str, Any] = {
        "files": [name for name, *_ in ordered],
        "sizes": [size for _, *size in ordered],
        "dpi": dpi,
    }
    (root / "drawn.json").write_text(json.dumps(drawn), encoding="utf-8")
    trial = root / "trial.typ"
    trial.write_text(_TRIAL, encoding="utf-8")
    made = typst.compile(
        str(trial), root=str(root), format="pdf", pdf_standards=["ua-1"], ignore_system_fonts=True
    )
    drawn["bytes"] = len(made)
    (root / "drawn.json").write_text(json.dumps(drawn), encoding="utf-8")
    return drawn


def _lighter(found: re.Match[bytes]) -> bytes:
    """A picture on a page, no sharper than print needs; a photograph as JPEG."""
    with Image.open(io.BytesIO(base64.b64decode(found[1]))) as read:
        read.load()
    picture = (
        read if max(read.size) <= _LONGEST_PX else _reduced(read, _LONGEST_PX / max(read.size))
    )
    if picture.mode not in ("L", "RGB"):
        if picture is read:
            return found[0]
        return _as_link(_png(picture), "png")
    return _as_link(*_smaller(picture))


def _as_link(data: bytes, kind: str) -> bytes:
    return b'"data:image/' + kind.encode() + b";base64," + base64.b64encode(data) + b'"'


def _reduced(picture: Image.Image, scale: float) -> Image.Image:
    width, height = (max(1, round(side * scale)) for side in picture.size)
    return picture.resize((width, height), Image.Resampling.LANCZOS)


def _png(picture: Image.Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=1)
    return out.getvalue()


def _smaller(picture: Image.Image) -> tuple[bytes, str]:
    """As PNG, without loss, or as JPEG where that takes far less in a PDF: a photograph."""
    jpeg = _jpeg(picture)
    plain = len(zlib.compress(picture.tobytes(), 3))
    return (jpeg, "jpeg") if len(jpeg) < 0.6 * plain else (_png(picture), "png")


def _jpeg(picture: Image.Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=78)
    return out.getvalue()


def _as_pictures(
    root: Path, numbers: Sequence[int], photos: Sequence[int], share: int, dpi: float
) -> tuple[dict[int, Drawing], int]:
    """Pages as pictures, as sharp as the share allows, and their sharpness."""
    if not numbers:
        return {}, 0
    raw = _typeset(root, numbers, most_pt=72 * _LONGEST_PX / dpi, format="png", ppi=dpi)
    pages = [_plain(data) for data in raw]
    scale = 1.0
    while True:
        shown = [_reduced(page, scale) if scale < 1 else page for page in pages]
        made = [
            (_jpeg(page), "jpeg") if number in photos else _smaller(_few_tones(page))
            for number, page in zip(numbers, shown, strict=True)
        ]
        taken = sum(_stored(data, kind) for data, kind in made)
        if taken < 0.9 * share or scale * dpi <= _LEAST_DPI:
            break
        scale *= min(0.9, (0.8 * share / taken) ** 0.5)
        scale = max(scale, _LEAST_DPI / dpi)
    found: dict[int, Drawing] = {}
    for number, page, (data, kind) in zip(numbers, pages, made, strict=True):
        name = f"page_{number}.{kind}"
        (root / name).write_bytes(data)
        found[number] = name, page.width / dpi * 72, page.height / dpi * 72
    return found, round(dpi * scale)


def _stored(data: bytes, kind: str) -> int:
    """What a picture takes in a PDF, which packs the dots of a PNG in its own way."""
    if kind == "jpeg":
        return len(data)
    with Image.open(io.BytesIO(data)) as picture:
        return len(zlib.compress(picture.tobytes(), 6))


def _plain(data: bytes) -> Image.Image:
    """A page as grey or colour, without a see-through part."""
    with Image.open(io.BytesIO(data)) as read:
        picture = read.convert("RGB")
    red, green, blue = (band.histogram() for band in picture.split())
    return picture.convert("L") if red == green == blue else picture


def _few_tones(picture: Image.Image) -> Image.Image:
    """Sixteen tones of each colour: enough for the edges of letters, and far smaller."""
    bands = len(picture.getbands())
    return picture.point([round(tone / 17) * 17 for tone in range(256)] * bands)


if __name__ == "__main__":
    main(*sys.argv[1:])
