"""Running a template: its parameters checked first, its cells run in a kernel or right here."""

from __future__ import annotations

import os
import traceback
import warnings
from collections.abc import Callable
from pathlib import Path
from threading import Lock
from types import ModuleType
from typing import Any

import nbformat
import papermill
from traitlets.config import Config

from planner_kit.errors import PlanFileError, PlannerKitError, nearest_name
from planner_kit.reference import shipped_folder

Progress = Callable[[str, int, int], None]
# Errors that a cell raises for a person's input; their sentence is the kit's.
_TOLD = ("PlanFileError", "NoRouteError", "PlannerKitError")
_ONE_AT_A_TIME = Lock()


def run_template(
    template: Path,
    out: Path,
    parameters: dict[str, str],
    *,
    progress: bool | Progress = True,
    here: bool = False,
) -> None:
    """Execute a template with papermill, its progress told by the headings of its cells.

    Parameters
    ----------
    template, out : Path
    parameters : dict of str to str
    progress : bool or callable
        See `planner_kit.diary.record_trip`.
    here : bool
        Run the cells in this process and not in a kernel of their own: for many trips one after
        the other, which then do not each wait for a kernel to start. Inside a notebook a kernel
        is started all the same, as this process is the notebook's.

    Raises
    ------
    PlanFileError
        If the template is no notebook, has no cell tagged ``parameters``, or lacks one of them.
    PlannerKitError
        If the kit refuses an input while it runs; the sentence is the kit's.
    """
    known = template_parameters(template)
    for name in parameters:
        if name not in known:
            raise PlanFileError(
                f"its parameters cell does not set '{name}'",
                str(template),
                nearest_name(name, known),
            )
    try:
        papermill.execute_notebook(
            str(template),
            str(out),
            parameters=parameters,
            engine_name="planner_kit_here" if here and _is_free() else "planner_kit",
            kernel_name="python3",
            progress_bar=progress is True,
            log_output=False,
            request_save_on_cell_execute=False,  # a record is kept whole or not at all
            tell=progress if callable(progress) else None,
        )
    except papermill.PapermillExecutionError as error:
        if error.ename in _TOLD:
            raise PlannerKitError(error.evalue) from None
        raise
    except OSError as error:
        raise PlanFileError(
            f"it cannot be written ({error.strerror or error})",
            str(out),
            "make room or choose another folder",
        ) from error


def template_path(template: Path | str | None, *, stays: int = 1, nights: int = 7) -> Path:
    """The notebook of a template: a path, a name of the kit's own, or the one that fits a trip.

    Parameters
    ----------
    template : path or None
    stays, nights : int
        Of the trip; several stays are a ``tour``, up to three nights a ``weekend``.

    Raises
    ------
    PlanFileError
        If it is neither a file nor the name of a template of the kit.
    """
    own = {path.stem: path for path in sorted(shipped_folder("templates").glob("*.ipynb"))}
    if template is None:
        template = "tour" if stays > 1 else "weekend" if nights <= 3 else "trip_record"
    if str(template) in own:
        return own[str(template)]
    if not Path(template).is_file():
        raise PlanFileError(
            "there is neither such a file nor a template of that name",
            str(template),
            nearest_name(str(template), own),
        )
    return Path(template)


def template_parameters(template: Path) -> list[str]:
    """The names that a template's parameters cell sets.

    Raises
    ------
    PlanFileError
        If the file is missing or no notebook, or no cell is tagged ``parameters``.
    """
    try:
        notebook = nbformat.read(template, as_version=4)
        nbformat.validate(notebook)
    except FileNotFoundError as error:
        raise PlanFileError("there is no such file", str(template), "check the name") from error
    except Exception as error:  # nbformat raises many kinds for a file that is no notebook
        raise PlanFileError(
            f"it is not a notebook ({type(error).__name__})", str(template), "choose another file"
        ) from error
    if not any("parameters" in cell.metadata.get("tags", []) for cell in notebook.cells):
        raise PlanFileError(
            "no cell is tagged 'parameters'", str(template), "tag the cell that sets them"
        )
    if not notebook.metadata.get("kernelspec", {}).get("name"):
        raise PlanFileError(
            "it does not say which kernel runs it", str(template), "save it from JupyterLab"
        )
    try:
        return list(papermill.inspect_notebook(str(template)))
    except papermill.exceptions.PapermillException as error:
        raise PlanFileError(
            f"its parameters cannot be read ({error})", str(template), "save it from JupyterLab"
        ) from error


class _EngineWithHeadings(papermill.engines.NBClientEngine):  # type: ignore[misc]
    """The usual engine, whose progress bar names the part of the notebook that runs."""

    @classmethod
    def execute_managed_notebook(
        cls, nb_man: Any, kernel_name: str, *, tell: Progress | None = None, **more: Any
    ) -> None:
        headings = _headings_of(nb_man.nb.cells)
        begin = nb_man.cell_start

        def begin_and_tell(cell: Any, cell_index: int = 0, **rest: Any) -> Any:
            if nb_man.pbar is not None:
                nb_man.pbar.set_description_str(headings[cell_index][:40])
            if tell is not None:
                tell(headings[cell_index], cell_index, len(headings))
            return begin(cell, cell_index, **rest)

        nb_man.cell_start = begin_and_tell
        if os.name == "posix":  # nobody else on the machine can listen to the kernel
            more["config"] = Config({"KernelManager": {"transport": "ipc"}})
        super().execute_managed_notebook(nb_man, kernel_name, **more)


class _EngineHere(papermill.engines.Engine):  # type: ignore[misc]
    """Runs the cells in this process, each notebook with names of its own, one at a time."""

    @classmethod
    def execute_managed_notebook(
        cls, nb_man: Any, kernel_name: str, *, tell: Progress | None = None, **_more: Any
    ) -> None:
        from IPython.core.interactiveshell import InteractiveShell
        from IPython.utils.capture import capture_output

        headings = _headings_of(nb_man.nb.cells)
        with _ONE_AT_A_TIME:
            with warnings.catch_warnings():
                # A shell of another environment started this one: the libraries here are right.
                warnings.filterwarnings("ignore", message="Attempting to work in a virtualenv")
                shell = InteractiveShell.instance(config=_QUIET, user_module=ModuleType(_NAME))
            shell.reset(new_session=True)
            for number, cell in enumerate(nb_man.nb.cells):
                nb_man.cell_start(cell, number)
                if tell is not None:
                    tell(headings[number], number, len(headings))
                try:
                    if cell.cell_type == "code":
                        with capture_output() as seen:
                            result = shell.run_cell(cell.source, store_history=True)
                        cell.execution_count = result.execution_count
                        cell.outputs = _outputs_of(seen)
                        result.raise_error()
                except Exception as error:
                    cell.outputs.append(_error_output(error))
                    nb_man.cell_exception(cell, number, exception=error)
                    return
                nb_man.cell_complete(cell, number)


_NAME = "planner_kit_template"


def _is_free() -> bool:
    """Whether no notebook or shell of a person runs in this process."""
    from IPython.core.interactiveshell import InteractiveShell

    if not InteractiveShell.initialized():
        return True
    if type(InteractiveShell.instance()) is not InteractiveShell:
        return False  # a kernel or a terminal
    if InteractiveShell.instance().user_module.__name__ != _NAME:
        InteractiveShell.clear_instance()  # made by a library that showed something; nobody's
    return True


# Nothing of a run is kept in the person's own history of commands.
_QUIET = Config({"HistoryAccessor": {"enabled": False}, "HistoryManager": {"enabled": False}})


def _outputs_of(seen: Any) -> list[Any]:
    outputs = [
        nbformat.v4.new_output("stream", name=name, text=text)
        for name, text in (("stdout", seen.stdout), ("stderr", seen.stderr))
        if text
    ]
    for shown in seen.outputs:
        data, metadata = shown.data, shown.metadata or {}
        outputs.append(nbformat.v4.new_output("display_data", data=data, metadata=metadata))
    return outputs


def _error_output(error: Exception) -> Any:
    name = type(error).__name__
    lines = traceback.format_exception(error)
    return nbformat.v4.new_output("error", ename=name, evalue=str(error), traceback=lines)


def _headings_of(cells: list[Any]) -> list[str]:
    """The heading that each cell stands under."""
    headings, heading = [], "starting"
    for cell in cells:
        first = cell.source.strip().splitlines()[:1]
        if cell.cell_type == "markdown" and first and first[0].startswith("#"):
            heading = first[0].lstrip("# ")
        headings.append(heading)
    return headings


for _name, _engine in (("planner_kit", _EngineWithHeadings), ("planner_kit_here", _EngineHere)):
    papermill.engines.papermill_engines.register(_name, _engine)
