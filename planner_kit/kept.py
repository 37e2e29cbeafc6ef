"""Results of stages, kept so that a run that was cut short does not begin again from nothing.

A result is found by the hash of all that it was made from: the stage, the kit's own code and
reference tables, and every input. It lies in the person's own cache folder, readable by nobody
else, and is sealed with a key that lies there too: a result that somebody put into a record, or
that was cut short on the disk, is never opened. Nothing of it is kept in a record folder.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import os
import pickle
import secrets
import sys
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from planner_kit.errors import PlanFileError
from planner_kit.files import sha256_of, write_whole
from planner_kit.reference import shipped_folder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

_T = TypeVar("_T")
_SEAL_BYTES = 32
_KEEP_FILES = 200


def cache_folder() -> Path | None:
    """The folder of kept results, None where there is none: it is the person's own or not used.

    The environment's PLANNER_KIT_CACHE names another one; set to ``off`` nothing is kept.
    """
    told = os.environ.get("PLANNER_KIT_CACHE", "")
    if told == "off":
        return None
    base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    folder = Path(told) if told else Path(base) / "planner-kit" / "stages"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if os.name == "posix":
            found = folder.stat()
            if found.st_uid != os.getuid() or found.st_mode & 0o077:
                return None
    except OSError:
        return None
    return folder


@lru_cache
def kit_fingerprint() -> str:
    """A hash of the kit's code, its reference tables and the libraries that results are made of."""
    digest = hashlib.sha256(sys.version.encode())
    for library in ("numpy", "pandas", "shapely", "pydantic"):
        digest.update(version(library).encode())
    package = Path(__file__).resolve().parent
    tables = shipped_folder("data") / "reference"
    for path in sorted([*package.rglob("*.py"), *tables.glob("*.csv")]):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def input_hash(*parts: Any, files: Iterable[Path] = ()) -> str:
    """One hash of words, dates and files by their bytes."""
    digest = hashlib.sha256()
    for part in parts:
        digest.update(repr(part).encode())
        digest.update(b"\0")
    for path in files:
        digest.update(sha256_of(path).encode())
    return digest.hexdigest()


def kept_or_made(stage: str, inputs: str, make: Callable[[], _T]) -> _T:
    """The result kept for these inputs, or a new one, which is then kept.

    Parameters
    ----------
    stage : str
    inputs : str
        See `input_hash`.
    make : callable
        Makes the result.

    Returns
    -------
    result
        A kept one is equal to the one that `make` would give.
    """
    folder = cache_folder()
    if folder is None:
        return make()
    name = hashlib.sha256(f"{stage}\0{kit_fingerprint()}\0{inputs}".encode()).hexdigest()
    path, key = folder / f"{name}.kept", _key(folder)
    if key is None:
        return make()
    found, result = _opened(path, key)
    if found:
        return result  # type: ignore[no-any-return]
    made = make()
    body = pickle.dumps(made, protocol=5)
    # A full disk, or another run that clears the folder just now, costs only time.
    with contextlib.suppress(PlanFileError, OSError):
        write_whole(path, hmac.digest(key, body, "sha256") + body)
        path.chmod(0o600)
        _drop_oldest(folder)
    return made


def _opened(path: Path, key: bytes) -> tuple[bool, Any]:
    try:
        data = path.read_bytes()
    except OSError:
        return False, None
    seal, body = data[:_SEAL_BYTES], data[_SEAL_BYTES:]
    if not hmac.compare_digest(seal, hmac.digest(key, body, "sha256")):
        return False, None
    return True, pickle.loads(body)


def _key(folder: Path) -> bytes | None:
    path = folder / "seal.key"
    with contextlib.suppress(OSError):
        # Made once; of two runs that make it at the same time, the first one's holds.
        with contextlib.suppress(FileExistsError):
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "wb") as out:
                out.write(secrets.token_bytes(_SEAL_BYTES))
        key = path.read_bytes()
        return key if len(key) == _SEAL_BYTES else None
    return None


def _drop_oldest(folder: Path) -> None:
    """Keep the newest results; another run may drop the same ones at the same time."""
    aged: list[tuple[float, Path]] = []
    for path in folder.glob("*.kept"):
        with contextlib.suppress(FileNotFoundError):
            aged.append((path.stat().st_mtime, path))
    for _, path in sorted(aged)[:-_KEEP_FILES]:
        path.unlink(missing_ok=True)
