"""The commands: each is one call into the kit."""

from __future__ import annotations

import argparse
import datetime as dt
import logging
import sys
import traceback
from pathlib import Path

from planner_kit import __version__
from planner_kit.errors import PlanFileError, PlannerKitError

DONE, OUR_FAULT, YOUR_INPUT = 0, 1, 2


def main(arguments: list[str] | None = None) -> int:
    """Run one command; exit code 0 done, 2 the person's input, 1 a fault of the kit.

    Parameters
    ----------
    arguments : list of str, optional
        The words after ``planner-kit``; those of the process if not given.

    Returns
    -------
    code : int
    """
    logging.basicConfig(level=logging.WARNING, format="%(message)s", stream=sys.stderr)
    options = _parser().parse_args(arguments)
    try:
        return int(options.command(options))
    except PlannerKitError as error:
        print(f"planner-kit: {error}", file=sys.stderr)
        return YOUR_INPUT
    except KeyboardInterrupt:
        print("planner-kit: stopped; nothing half-written was left behind.", file=sys.stderr)
        return 130
    except Exception:
        traceback.print_exc()
        print("planner-kit: this is a fault of the kit, not of your files.", file=sys.stderr)
        return OUR_FAULT


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="planner-kit",
        description="Plan a tow with a touring caravan, and keep each trip as a record.",
    )
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    demo = commands.add_parser("demo", help="plan an invented family's two trips on an island")
    demo.add_argument("--to", type=Path, metavar="FOLDER", help="default: planner-kit-demo")
    demo.set_defaults(command=_demo)

    region = commands.add_parser("region", help="build a region from an OpenStreetMap extract")
    region.add_argument("extract", type=Path, metavar="EXTRACT.osm.pbf")
    region.add_argument("terrain", type=Path, nargs="*", metavar="TERRAIN")
    region.add_argument("--to", type=Path, required=True, metavar="FOLDER")
    region.add_argument("--country", metavar="CODE", help="such as GB, where the map does not say")
    region.set_defaults(command=_region)

    record = commands.add_parser("record", help="plan a trip, or many, and keep records")
    record.add_argument(
        "trip", type=Path, nargs="+", metavar="TRIP.toml | many FOLDER",
        help="one trip, or every trip file in a folder and those below it",
    )  # fmt: skip
    record.add_argument("--to", type=Path, metavar="FOLDER", help="default: records beside TRIP")
    record.add_argument("--start", type=_date, metavar="DATE", help="a new first day, 2027-07-24")
    record.add_argument("--template", type=Path, metavar="NOTEBOOK")
    record.add_argument("--workers", type=_count, help="with many: processes on this machine")
    record.add_argument(
        "--cluster", metavar="ADDRESS", help="with many: a Dask scheduler, tcp://host:8786"
    )
    record.set_defaults(command=_record)

    rerun = commands.add_parser("rerun", help="an earlier trip with new dates, nothing booked")
    rerun.add_argument("trip", type=Path, metavar="TRIP.toml|RECORD")
    when = rerun.add_mutually_exclusive_group()
    when.add_argument("--start", type=_date, metavar="DATE", help="the new first day, 2027-07-24")
    when.add_argument(
        "--holidays", nargs="?", const="", metavar="NAME",
        help="fit into school holidays of the trip's list; without NAME the nearest ones",
    )  # fmt: skip
    rerun.add_argument("--year", type=int, help="default: the next; the weekday is kept")
    rerun.add_argument("--to", type=Path, metavar="FOLDER", help="default: records beside TRIP")
    rerun.add_argument("--template", type=Path, metavar="NOTEBOOK")
    rerun.set_defaults(command=_rerun)

    pack = commands.add_parser("pack", help="print the folder of a trip, or some of its pages")
    pack.add_argument("trip", type=Path, metavar="TRIP.toml")
    pack.add_argument("--to", type=Path, metavar="FOLDER", help="default: the folder of TRIP")
    pack.add_argument("--pages", metavar="NAMES", help="with commas between: cover,tow,contacts")
    pack.add_argument("--paper", choices=("A4", "Letter"), help="default: the household's")
    pack.add_argument("--phone", action="store_true", help="as one HTML page for a phone too")
    pack.set_defaults(command=_pack)

    diary = commands.add_parser("diary", help="the records of a planning folder, and their book")
    diary.add_argument("folder", type=Path, nargs="?", default=Path(), metavar="FOLDER")
    diary.add_argument("--records", default="records", help="the folder of records in it")
    diary.add_argument("--search", metavar="WORDS", help="where all of these words stand")
    diary.add_argument("--query", metavar="SQL", help="ask the tables records and figures")
    diary.add_argument("--book", type=Path, metavar="FILE.html", help="write all trips as a book")
    diary.add_argument("--csv", type=Path, metavar="FOLDER", help="write the tables as CSV")
    diary.add_argument("--index", action="store_true", help="write index.parquet anew")
    diary.set_defaults(command=_diary)

    year = commands.add_parser("year", help="print one page of a year across all trips of a folder")
    year.add_argument("folder", type=Path, metavar="FOLDER")
    year.add_argument("--year", type=int, help="default: the year of the next trip")
    year.add_argument("--to", type=Path, metavar="FILE.pdf", help="default: year.pdf in FOLDER")
    year.set_defaults(command=_year)

    check = commands.add_parser("check", help="say what is wrong with files that a person wrote")
    check.add_argument("files", type=Path, nargs="*", metavar="FILE")
    check.add_argument("--schema", choices=("household", "trip"), help="print a file's schema")
    check.set_defaults(command=_check)
    return parser


def _date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"'{text}' is not a date; write it as 2027-07-24"
        ) from None


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) > 0):
        raise argparse.ArgumentTypeError(f"'{text}' is no number of workers; write 1 or more")
    return int(text)


def _demo(options: argparse.Namespace) -> int:
    from planner_kit.demo import run_demo
    from planner_kit.diary.telling import record_sentences

    last_year, this_year = run_demo(options.to)
    print("\n".join(record_sentences(this_year)))
    print(f"Last year's record lies in {last_year.folder}")
    return DONE


def _region(options: argparse.Namespace) -> int:
    from planner_kit.region import build_region, region_sentences
    from planner_kit.tow import prepare

    region = build_region(options.extract, options.terrain, options.to, country=options.country)
    print("\n".join(region_sentences(region)))
    print(f"Routing order found in {prepare(region):.1f} s.")
    return DONE


def _record(options: argparse.Namespace) -> int:
    from planner_kit.diary import record_trip
    from planner_kit.diary.telling import record_sentences

    if str(options.trip[0]) == "many":
        return _record_many(options)
    if len(options.trip) > 1:
        raise PlanFileError(
            "one trip is recorded at a time", str(options.trip[1]), "or use: record many FOLDER"
        )
    trip = options.trip[0]
    to = options.to or trip.parent / "records"
    record = record_trip(trip, to, start=options.start, template=options.template)
    print("\n".join(record_sentences(record)))
    return DONE


def _record_many(options: argparse.Namespace) -> int:
    from planner_kit.diary.many import FAILED, REFUSED, many_sentences, record_many

    if len(options.trip) != 2 or options.start is not None:
        raise PlanFileError(
            "it needs one folder and no --start", "record many", "record many FOLDER --to FOLDER"
        )
    many = record_many(
        options.trip[1], options.to, template=options.template, workers=options.workers,
        cluster=options.cluster,
        tell=lambda one, done, count: print(
            f"{done}/{count} {one.state}: {one.trip_file}", file=sys.stderr
        ),
    )  # fmt: skip
    print("\n".join(many_sentences(many)))
    states = set(many.outcomes["state"])
    return OUR_FAULT if FAILED in states else YOUR_INPUT if REFUSED in states else DONE


def _rerun(options: argparse.Namespace) -> int:
    from planner_kit.diary.rerun import rerun_sentences, rerun_trip
    from planner_kit.diary.telling import record_sentences

    found = rerun_trip(
        options.trip, to=options.to, start=options.start, year=options.year,
        holidays=options.holidays, template=options.template,
    )  # fmt: skip
    if found.record is not None:
        print("\n".join(record_sentences(found.record)))
    print("\n".join(rerun_sentences(found)))
    return DONE if found.record is not None else YOUR_INPUT


def _pack(options: argparse.Namespace) -> int:
    from planner_kit.diary import files_with_lessons
    from planner_kit.pack import print_folder

    pages = options.pages.split(",") if options.pages else None
    written = print_folder(
        options.trip, options.to, pages=pages, paper=options.paper, phone=options.phone,
        files=files_with_lessons(options.trip),
    )  # fmt: skip
    print("\n".join(f"Written: {path}" for path in written))
    return DONE


def _diary(options: argparse.Namespace) -> int:
    from planner_kit.diary.telling import diary_sentences

    print(
        "\n".join(
            diary_sentences(
                options.folder, records=options.records, search=options.search,
                question=options.query, book=options.book, tables=options.csv,
                index=options.index,
            )
        )
    )  # fmt: skip
    return DONE


def _year(options: argparse.Namespace) -> int:
    from planner_kit.pack import write_year
    from planner_kit.sites import read_year

    year = read_year(options.folder, dt.date.today(), options.year)
    written = write_year(year, options.to or options.folder / "year.pdf")
    print("\n".join([*year.faults, f"Written: {written}"]))
    return DONE


def _check(options: argparse.Namespace) -> int:
    from planner_kit.checking import check_files
    from planner_kit.trip.writing import schema_text

    if options.schema:
        print(schema_text(options.schema))
        return DONE
    sentences, all_well = check_files(options.files)
    print("\n".join(sentences))
    return DONE if all_well else YOUR_INPUT


if __name__ == "__main__":
    sys.exit(main())
