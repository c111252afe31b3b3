"""What has been worked out once, kept on the disk under a hash of all that it was worked out from.

An entry never changes: whoever has the same inputs gets the same bytes, and whatever reaches them in another way
(another program, other libraries, other inputs) has another name. So runs side by side need no lock, and an entry
that is torn, foreign or gone is worked out again. Entries are Python pickles that their owner alone can read or write;
those of anybody else are not opened.
"""

from __future__ import annotations

import contextlib
import copyreg
import hashlib
import os
import pickle
import stat
import tempfile
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import is_dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any, TypeVar

T = TypeVar("T")

Made = dict[str, tuple[bool, Any]]  # by key, whether it was made or found, and the record

MOST_BYTES = 2_000_000_000  # that a store may take on the disk
# what this process has worked out ahead of its time, by name and key, and whether it made that or found it
_ahead: dict[str, Made] = {}
_ROOM = 0.8  # of them that are left when old entries are thrown away
_SIZE = hashlib.sha256().digest_size
# what a record may raise that cannot be pickled, or a pickle of something that is no more
_UNFIT = (pickle.PickleError, TypeError, AttributeError, RecursionError, ValueError, ImportError, IndexError, EOFError)


class Store:
    """A folder of entries, or none at all.

    `made` and `found` count by their names what was worked out and what was there.
    """

    def __init__(self, folder: Path | None, libraries: Mapping[str, str] = {}, most_bytes: int = MOST_BYTES) -> None:
        """`libraries` are the versions of what shapes results. The folder is made when something is kept."""
        self._folder = folder
        self._libraries = sorted(libraries.items())
        self._most = most_bytes
        self._wrote = 0
        self._works_ahead = False
        self.made: Counter[str] = Counter()
        self.found: Counter[str] = Counter()

    def kept(self, name: str, inputs: Any, make: Callable[[], T]) -> T:
        """What `make` returns for these inputs, from the store if it is there.

        `name` and `inputs` must tell all that the result depends on beside the program itself; records, arrays and
        plain values will do. What has no such key or cannot be kept is made each time. Errors of `make` pass through
        and are not kept.
        """
        key = self._key(name, inputs) if self._folder is not None or self._works_ahead or name in _ahead else None
        if key is not None and key in _ahead.get(name, ()):
            new, made = _ahead[name].pop(key)
            (self.made if new else self.found)[name] += 1
            return made
        path = None if key is None or self._folder is None else self._folder / key[:2] / key[2:]
        entry = None if path is None else _read(path)
        made = make() if entry is None else entry[0]
        (self.made if entry is None else self.found)[name] += 1
        if entry is None and path is not None:
            self._write(path, made)
        if key is not None and self._works_ahead:
            _ahead.setdefault(name, {})[key] = entry is None, made
        return made

    def ahead(self) -> Store:
        """A store for work whose own result nobody takes: this process finds once more what that has kept, even if this
        store keeps nothing."""
        other = Store(self._folder, dict(self._libraries), self._most)
        other._works_ahead = True
        return other

    def under(self, inputs: Any) -> Store:
        """A store for what depends on these inputs as well, which are hashed once; what it makes and finds counts here."""
        key = None if self._folder is None else self._key("", inputs)
        other = Store(None if key is None else self._folder, most_bytes=self._most)
        other._libraries = [*self._libraries, ("", key or "")]
        other.made, other.found = self.made, self.found
        return other

    def taken(self, name: str) -> Made:
        """What this process has worked out ahead under that name, to hand it to another; it is forgotten here."""
        return _ahead.pop(name, {})

    def hand(self, name: str, made: Made) -> None:
        """Find once what another process has worked out ahead."""
        _ahead.setdefault(name, {}).update(made)

    def has(self, name: str, inputs: Any) -> bool:
        """Whether there is an entry, without looking at it."""
        key = None if self._folder is None else self._key(name, inputs)
        return key is not None and self._folder is not None and (self._folder / key[:2] / key[2:]).exists()

    def _key(self, name: str, inputs: Any) -> str | None:
        digest = hashlib.sha256(repr((name, program(), self._libraries)).encode())
        try:
            # without its memory of objects a pickle tells what is in a record, not which parts of it are one object
            pickler = _Keys(_Sink(digest), protocol=5)
            pickler.fast = True
            pickler.dump(inputs)
        except _UNFIT:
            return None
        return digest.hexdigest()

    def _write(self, path: Path, made: Any) -> None:
        """In one moment or not at all; a disk that is full or refuses costs no more than the entry."""
        assert self._folder is not None
        try:
            content = pickle.dumps((made,), protocol=5)
        except _UNFIT:
            return
        part = ""
        try:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            handle, part = tempfile.mkstemp(dir=path.parent, prefix=".")
            with os.fdopen(handle, "wb") as file:
                file.write(hashlib.sha256(content).digest())
                file.write(content)
            os.replace(part, path)
            self._wrote += len(content)
        except OSError:
            if part:
                with contextlib.suppress(OSError):
                    os.unlink(part)
        if self._wrote > (1.0 - _ROOM) * self._most / 2.0:
            self.tidy()

    def tidy(self) -> None:
        """Throw away what was not used for longest, if there is more than may be, and what killed runs have left."""
        self._wrote = 0
        if self._folder is None:
            return
        entries = []
        for path in self._folder.glob("??/*"):
            with contextlib.suppress(OSError):
                status = path.stat()
                entries.append((status.st_mtime, status.st_size, path))
        total = sum(size for _, size, _ in entries)
        if total <= self._most:
            return
        for _, size, path in sorted(entries, key=lambda entry: (not entry[2].name.startswith("."), entry[0])):
            if total <= _ROOM * self._most:
                break
            with contextlib.suppress(OSError):
                path.unlink()
                total -= size


class _Keys(pickle.Pickler):
    """Records as keys: arrays by their values alone, sets in whatever order, without what a record has worked out of itself and
    remembers, without where in its file something stands, which only errors and notes tell, and without the hash of all
    inputs, which no stage reads."""

    def reducer_override(self, obj: Any) -> Any:
        kind: Any = type(obj)
        if kind.__module__ == "numpy" and kind.__name__ == "ndarray" and obj.dtype != object:
            # whatever its order in memory is, and whether it may be written
            return bytes, (repr((obj.dtype.str, obj.shape)).encode() + obj.tobytes(),)
        if kind.__module__ == "foamwright.design.records":
            if kind.__name__ == "Where":
                return str, ("",)
            if kind.__name__ == "Design":
                return (
                    dict,
                    (),
                    None,
                    None,
                    iter([(k, v) for k, v in vars(obj).items() if k not in ("digest", "folder", "notes")]),
                )
        if kind.__module__.startswith("foamwright.") and (is_dataclass(kind) or _remembered(kind)):
            remembered = _remembered(kind)
            told = {name: _in_order(value) for name, value in vars(obj).items() if name not in remembered}
            return copyreg.__newobj__, (kind,), told  # type: ignore[attr-defined]
        return NotImplemented


@cache
def _remembered(kind: type) -> frozenset[str]:
    """The names of what records of this class work out when somebody first asks."""
    return frozenset(
        name for base in kind.__mro__ for name, value in vars(base).items() if isinstance(value, cached_property)
    )


def _in_order(value: Any) -> Any:
    """A set in one order, which by itself differs from run to run."""
    return (type(value).__name__, sorted(value, key=repr)) if isinstance(value, set | frozenset) else value


class _Sink:
    """Bytes go into a hash as they come, so that large inputs are never held twice."""

    def __init__(self, digest: Any) -> None:
        self._digest = digest

    def write(self, content: Any) -> int:
        self._digest.update(content)
        return memoryview(content).nbytes  # large arrays come as buffers, which have no length


def _read(path: Path) -> tuple[Any] | None:
    try:
        with path.open("rb") as file:
            status = os.fstat(file.fileno())
            if not stat.S_ISREG(status.st_mode) or not _of_ours(status):
                return None
            content = file.read()
    except OSError:
        return None
    if hashlib.sha256(content[_SIZE:]).digest() != content[:_SIZE]:
        return None
    try:
        entry: tuple[Any] = pickle.loads(memoryview(content)[_SIZE:])
    except _UNFIT:
        return None
    with contextlib.suppress(OSError):
        os.utime(path)  # it was used
    return entry


def _of_ours(status: os.stat_result) -> bool:
    """Whether a file was written by this user and can be by nobody else: a pickle of another's may run what it likes."""
    return os.name != "posix" or (status.st_uid == os.geteuid() and not status.st_mode & 0o077)


@cache
def program() -> str:
    """Hash of the program's own source: a store never answers for another state of it."""
    digest = hashlib.sha256()
    root = Path(__file__).parent
    for path in sorted(root.rglob("*.py")):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0")
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def of_this_machine(libraries: Mapping[str, str]) -> Store:
    """The store in the folder where the platform keeps caches of the user."""
    from platformdirs import user_cache_path

    return Store(user_cache_path("foamwright", appauthor=False), libraries)
