"""What a record found, in a few sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner_kit.diary.record import Record


def record_sentences(record: Record) -> list[str]:
    """What a record found, and where it lies.

    Parameters
    ----------
    record : Record

    Returns
    -------
    sentences : list of str
        Trip, tow with hours and breaks, cost, the things to look at, changes, files.
    """
    facts = record.facts
    sentences = list(facts["sentences"])
    if facts["look_at"]:
        sentences.append("Look at these first:")
        sentences.extend(f"  {n}. {thing}" for n, thing in enumerate(facts["look_at"], start=1))
    if record.changes is not None and record.before is not None:
        count = len(record.changes)
        sentences.append(
            f"{count} figure{'' if count == 1 else 's'} changed since the record "
            f"{record.before.name}; changes.csv says which and why."
        )
    sentences.append(f"The record lies in {record.folder}")
    sentences.append(f"The folder to print is {record.folder / 'pack.pdf'}")
    return sentences
