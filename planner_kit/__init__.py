"""A planning kit for households that tow a touring caravan.

The folders are the stages that a trip goes through; import what you need from them, for example
``from planner_kit.region import open_region``. Nothing heavy is imported here.
"""

from importlib.metadata import PackageNotFoundError, version

try:
    __version__ = version("planner-kit")
except PackageNotFoundError:
    __version__ = "0+unknown"

__all__ = ["__version__"]
