"""The pack stage: the printable folder, its maps, lists and the calendar."""

from planner_kit.pack.calendar import write_calendar
from planner_kit.pack.checklists import checklist
from planner_kit.pack.folder import write_pack
from planner_kit.pack.html_twin import write_html_twin
from planner_kit.pack.print_map import print_map
from planner_kit.pack.printing import print_folder
from planner_kit.pack.profile_chart import profile_chart
from planner_kit.pack.signal_chart import note_chart
from planner_kit.pack.year_chart import year_chart
from planner_kit.pack.year_sheet import write_year

__all__ = [
    "checklist",
    "note_chart",
    "print_folder",
    "print_map",
    "profile_chart",
    "write_calendar",
    "write_html_twin",
    "write_pack",
    "write_year",
    "year_chart",
]
