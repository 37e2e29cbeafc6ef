"""Writing a file or a folder whole or not at all.

What is being written lies beside its final name, hidden, in a name that tells which process of
which machine writes it. A process that was killed leaves that behind; the next writer of the same
name, or `settle`, clears it away.
"""

from __future__ import annotations

import glob
import hashlib
import os
import re
import shutil
import socket
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import psutil

from planner_kit.errors import PlanFileError

if TYPE_CHECKING:
    from collections.abc import Iterator

_MACHINE = hashlib.sha256(socket.gethostname().encode()).hexdigest()[:8]
_LEFT = re.compile(r"\.(?P<machine>[0-9a-f]{8})-(?P<process>\d+)-[^.]+\.(?:part|old)$")


def _prefix(path: Path) -> str:
    """How names of what is being written for `path` begin."""
    return f".{path.name}.{_MACHINE}-{os.getpid()}-"


def settle(path: Path) -> None:
    """Clear away what killed processes of this machine left beside `path`.

    Where one was killed between setting the old folder aside and naming the new one, the old
    folder gets its name back. What a running process writes is left alone.
    """
    if not path.parent.is_dir():
        return
    for left in sorted(path.parent.glob(f".{glob.escape(path.name)}.*")):
        found = _LEFT.fullmatch(left.name.removeprefix(f".{path.name}"))
        if (
            found is None
            or found["machine"] != _MACHINE
            or psutil.pid_exists(int(found["process"]))
        ):
            continue
        aside = left / path.name
        if left.name.endswith(".old") and aside.exists() and not path.exists():
            os.replace(aside, path)
        if left.is_dir():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink(missing_ok=True)


def write_whole(path: Path, content: bytes | str) -> None:
    """Write `content` beside `path` and rename it, so that no half-written file is ever seen.

    Parameters
    ----------
    path : Path
        The final name; its folder is made if it is missing.
    content : bytes or str
        Text is written as UTF-8.

    Raises
    ------
    PlanFileError
        If the place cannot be written to.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        settle(path)
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=_prefix(path), suffix=".part")
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(data)
                out.flush()
                os.fsync(out.fileno())
            os.chmod(beside, 0o644)
            os.replace(beside, path)
        except BaseException:
            Path(beside).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise PlanFileError(
            f"it cannot be written ({error.strerror})", str(path), "choose another folder"
        ) from error


@contextmanager
def whole_folder(path: Path) -> Iterator[Path]:
    """A fresh folder beside `path` that takes its name when the block ends without an error.

    An existing folder of that name is kept until the new one is whole, then replaced.

    Parameters
    ----------
    path : Path
        The final name.

    Yields
    ------
    folder : Path
        The folder to fill.

    Raises
    ------
    PlanFileError
        If the place cannot be written to.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        settle(path)
        beside = Path(tempfile.mkdtemp(dir=path.parent, prefix=_prefix(path), suffix=".part"))
        os.chmod(beside, 0o755)
    except OSError as error:
        raise PlanFileError(
            f"it cannot be written ({error.strerror})", str(path), "choose another folder"
        ) from error
    try:
        yield beside
        if path.exists():
            old = Path(tempfile.mkdtemp(dir=path.parent, prefix=_prefix(path), suffix=".old"))
            os.replace(path, old / path.name)
            try:
                os.replace(beside, path)
            except BaseException:
                os.replace(old / path.name, path)
                raise
            finally:
                shutil.rmtree(old)
        else:
            os.replace(beside, path)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise


def sha256_of(path: Path) -> str:
    """The SHA-256 of a file's bytes, in hexadecimal."""
    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()


def read_words(path: Path, *, most_mb: int, save_as: str = "UTF-8") -> str:
    """The text of a file that a person gave.

    Parameters
    ----------
    path : Path
    most_mb : int
        A larger file is refused, unread.
    save_as : str
        What the person is told to save it as when it is not UTF-8.

    Returns
    -------
    text : str
        Without a byte order mark.

    Raises
    ------
    PlanFileError
        If the file is missing, too large, cannot be read or is not UTF-8.
    """
    try:
        if path.stat().st_size > most_mb * 1_000_000:
            raise PlanFileError(
                f"it is larger than {most_mb} MB", str(path), "is it the right file"
            )
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError as error:
        raise PlanFileError("there is no such file", str(path), "check the name") from error
    except IsADirectoryError as error:
        raise PlanFileError("it is a folder", str(path), "name a file in it") from error
    except OSError as error:
        raise PlanFileError(
            f"it cannot be read ({error.strerror})", str(path), "check the file"
        ) from error
    except UnicodeDecodeError as error:
        raise PlanFileError(
            f"byte {error.start} is not UTF-8 text", str(path), f"save it as {save_as}"
        ) from error
