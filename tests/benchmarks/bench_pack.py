"""How long the folder and its map take once a trip is planned; run by hand with a trip file.

The folder is printed as the trip file says, and once more with a confirmation for each stay: a
mail of a page, a bill of two with a photograph, and a page or more of small print, in turn. A
first print is what a person waits for; each of those is made in a process of its own.
"""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import typst
from PIL import Image
from pypdf import PdfReader

from planner_kit.pack import print_map, write_pack
from planner_kit.plan import plan_trip
from planner_kit.trip_files import read_files

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner_kit.plan import TripPlan

RUNS = 5
MAIL = """
#set page(paper: "a4", margin: 18mm)
= Your booking is confirmed
#rect(width: 100%, fill: rgb("#00aa66"), inset: 12pt, text(fill: white)[Reference *TB-20931*])
#table(columns: 2, ..range(12).map(n => ([Line #n], [Value #n in some words])).flatten())
#lorem(120)
"""
BILL = """
#set page(paper: "a4", margin: 20mm)
= Bill
#image("photo.png", width: 60mm)
#table(columns: 4, ..range(60).map(n => ([#n], [Pitch, night #n], [1], [34.50])).flatten())
#lorem(250)
"""
SMALL_PRINT = """
#set page(paper: "a4", margin: 20mm, columns: 2)
#set text(size: 8.5pt)
#for n in range(14) [
  == Term #n
  #lorem(190)
]
"""


NAMES = ("mail.pdf", "bill.pdf", "small_print.pdf")


def write_confirmations(folder: Path) -> None:
    """Three PDFs as people get them, of one to three pages each."""
    noise = np.random.default_rng(1).integers(-12, 12, (500, 1400, 3))
    down, across = np.mgrid[0:500, 0:1400]
    tones = np.stack([across / 5.6, down / 2.0, (across + down) % 256], axis=-1)
    Image.fromarray((tones + noise).clip(0, 255).astype(np.uint8)).save(folder / "photo.png")
    for name, source in zip(NAMES, (MAIL, BILL, SMALL_PRINT), strict=True):
        written = (folder / name).with_suffix(".typ")
        written.write_text(source, encoding="utf-8")
        (folder / name).write_bytes(typst.compile(str(written), root=str(folder), format="pdf"))


def confirmed(plan: TripPlan, folder: Path) -> TripPlan:
    """The same plan with a confirmation for each stay, in turn."""
    inputs = plan.files.inputs
    stays = tuple(
        stay.model_copy(
            update={
                "booking": stay.booking.model_copy(
                    update={"confirmation": NAMES[place % len(NAMES)]}
                )
            }
        )
        for place, stay in enumerate(inputs.trip.stays)
    )
    trip = inputs.trip.model_copy(update={"stays": stays})
    changed = replace(inputs, trip=trip, trip_path=folder / "trip.toml")
    return replace(plan, files=replace(plan.files, inputs=changed))


def timed(job: Callable[[], object]) -> tuple[float, float]:
    """Seconds on the clock and of processors, those of processes that the job starts too."""
    begin, before = time.perf_counter(), os.times()
    job()
    took, after = time.perf_counter() - begin, os.times()
    return took, sum(after[:4]) - sum(before[:4])


def told(name: str, plan: TripPlan, folder: Path) -> None:
    """Time the first print of this process and some more, and say so."""
    route = plan.tow.legs[0].route.geometry
    made: list[Path] = []
    jobs = {
        "map": lambda: print_map(plan.files.region, route=route),
        "folder": lambda: made.append(write_pack(plan, folder)),
    }
    took = [timed(jobs["map" if name == "map" else "folder"]) for _ in range(RUNS)]
    size = ""
    if made:
        size = f"; {len(PdfReader(made[0]).pages)} pages, {made[0].stat().st_size / 1e6:.1f} MB"
    clock, cpu = zip(*took, strict=True)
    print(
        f"{name}: first {clock[0]:.2f} s ({cpu[0]:.2f} s of processor time), "
        f"best {min(clock):.2f} s ({min(cpu):.2f} s){size}",
        flush=True,
    )


def _alone(job: Callable[..., None], *given: object) -> None:
    """Run a job where nothing of an earlier one is warm."""
    one = multiprocessing.get_context("fork").Process(target=job, args=given)
    one.start()
    one.join()


def main(trip_file: str) -> None:
    """Print the seconds of the first and the best of some runs."""
    plan = plan_trip(read_files(Path(trip_file)), planned_on=dt.date(2027, 1, 15))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _alone(write_confirmations, folder)
        pages = [len(PdfReader(folder / name).pages) for name in NAMES]
        stays = len(plan.files.inputs.trip.stays)
        _alone(told, "map", plan, folder)
        _alone(told, "folder", plan, folder)
        case = f"folder with {stays} confirmations (of {pages} pages in turn)"
        _alone(told, case, confirmed(plan, folder), folder)
    print("load of the machine:", *os.getloadavg())


if __name__ == "__main__":
    main(sys.argv[1])
