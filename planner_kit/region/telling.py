"""What a region holds, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner_kit.region.region import Region


def region_sentences(region: Region) -> list[str]:
    """What a region holds, what it does not know, and whose data it is.

    Parameters
    ----------
    region : Region

    Returns
    -------
    sentences : list of str
    """
    manifest = region.manifest
    counts = manifest["counts"]
    dated = str(manifest["data_date"] or "")[:10] or "a day that is not known"
    sentences = [
        f"{region.name}: {counts['roads']:,} stretches of road "
        f"({manifest['road_km']:,.0f} km) and {counts['places']:,} places, "
        f"map data of {dated}.",
    ]
    if region.countries == ("unknown",):
        sentences.append(
            "The map does not say which country this is, so its law is unknown: "
            "build again with --country, such as --country GB."
        )
    if not manifest["terrain"]["known"]:
        sentences.append("No terrain was given, so gradients and signals are unknown.")
    elif manifest["terrain"]["covered_frac"] < 1:
        share = manifest["terrain"]["covered_frac"]
        sentences.append(f"The terrain covers {share:.0%} of it; gradients elsewhere are unknown.")
    unread = manifest["unread"]
    if unread:
        listed = ", ".join(f"{tag} {count}" for tag, count in sorted(unread.items()))
        sentences.append(f"Values that could not be read, kept as unknown: {listed}.")
    odd = manifest.get("implausible", {})
    if odd:
        listed = ", ".join(f"{tag} {count}" for tag, count in sorted(odd.items()))
        sentences.append(f"Values that no road or sign has, kept as unknown: {listed}.")
    sentences += [f"{line}." for line in region.attribution]
    sentences.append(f"It lies in {region.folder}")
    return sentences
