"""The site on disk: what is new is written, what is not stays, what is gone is taken away; nothing else is touched."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from importlib import resources
from pathlib import Path, PurePosixPath
from typing import TypeVar

from foamwright.errors import BuildError
from foamwright.gallery import feeds, setting
from foamwright.gallery.pictures import card_and_preview
from foamwright.gallery.published import PICTURE, Published, found_below, published, signature
from foamwright.gallery.setting import Site
from foamwright.gallery.shelf import Title, on_the_shelf
from foamwright.language import Reader, count, reading, say
from foamwright.pack.folder import alone_in, refuse_dangling
from foamwright.pack.write import write_files
from foamwright.store import Store, program

MANIFEST = "gallery.json"
_STATIC = ("style.css", "gallery.js", "viewer.js", "viewer.LICENSE")
_SIDE_BY_SIDE = 8  # packs from which on a second process is worth its start
T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True)
class Built:
    """What came of it."""

    designs: int
    packs: int
    written: int  # files
    removed: int


@dataclass(frozen=True)
class _File:
    """A file of the site: what it depends on, and how it comes into being at a path."""

    key: str
    write: Callable[[Path], None]


def build_site(
    paths: Iterable[str], out: Path, title: str, address: str, store: Store, jobs: int = 1, language: str = "en"
) -> Built:
    """Make or renew the site of all packs at or below `paths`, in a language of LANGUAGES.

    DesignError: a pack is none, not whole, or not what its record says. BuildError: the folder holds something else, or
    the disk refuses.
    """
    folders = found_below(paths)
    refuse_dangling(out)
    try:
        out.mkdir(parents=True, exist_ok=True)
        with alone_in(out):
            old = _old(out)
            packs = _all(partial(_kept, store), folders, jobs)
            titles = on_the_shelf(packs)
            site = Site(title, address, bool(feeds.dated(titles)), language)
            files = _files(site, titles, store)
            _refuse_collisions(out, old, files)
            there = os.fspath(out) + os.sep  # plain text: a site of many packs has very many files
            stale = [p for p, file in files.items() if old.get(p) != file.key or not os.path.isfile(there + p)]
            # listed before they are there, so that a run that ends early leaves a site that the next one goes on with
            if stale or old.keys() - files.keys() or not old:
                begun = dict.fromkeys(stale, "") | {path: files[path].key for path in files.keys() - set(stale)}
                _list(out, dict.fromkeys(old.keys() - files.keys(), "") | begun)
            small = [path for path in stale if path.endswith(("card.jpg", "preview.jpg"))]
            _pictures(out, site, titles, {str(PurePosixPath(path).parent) for path in small}, jobs)
            for path in stale:
                if path not in small:
                    (out / path).parent.mkdir(parents=True, exist_ok=True)
                    files[path].write(out / path)
            gone = old.keys() - files.keys()
            _remove(out, gone)
            if stale or gone or not old:
                _list(out, {path: file.key for path, file in files.items()})
    except OSError as error:
        raise BuildError(f"{out}: cannot be written: {error.strerror or error}") from error
    return Built(len(titles), len(packs), len(stale), len(gone))


def _kept(store: Store, folder: str) -> Published:
    """The pack as it was read last time, if none of its files has changed since."""
    key = (os.path.abspath(folder), folder, signature(folder))
    return store.kept("published pack", key, lambda: published(Path(folder)))


def _files(site: Site, titles: tuple[Title, ...], store: Store) -> dict[str, _File]:
    """Every file of the site by its path."""
    files: dict[str, _File] = {}
    cards: dict[str, str] = {}
    for name in _STATIC:
        content = (resources.files("foamwright.gallery") / "static" / name).read_bytes()
        files[name] = _made(hashlib.sha256(content).hexdigest(), partial(_same, content))
    keys = [_key(site, title) for title in titles]
    shelf_key = _key(site, keys)
    for title, page_key in zip(titles, keys):
        for pack in (*title.newest, *title.older):
            for download in pack.downloads:
                source = f"{pack.folder}/{download.path}"
                files[f"{pack.place}/{download.path}"] = _File(download.sha256, partial(_link, source))
        first = title.first
        if (picture := first.download(PICTURE)) is not None:
            key = _key(picture.sha256, _lines(site, first))
            cards[first.place] = f"{first.place}/card.jpg"
            files[f"{first.place}/card.jpg"] = files[f"{first.place}/preview.jpg"] = _File(key, _never)
        card = cards.get(first.place)
        files[f"{first.id}/index.html"] = _made(page_key, partial(_design_page, site, title, card, store))
    files["index.html"] = _made(shelf_key, partial(setting.index_page, site, titles, cards))
    files["filters.css"] = _made(shelf_key, partial(setting.filter_style, titles))
    files["index.json"] = _made(shelf_key, partial(feeds.index, site, titles))
    if site.feed:
        files["feed.xml"] = _made(shelf_key, partial(feeds.feed, site, titles))
    return files


def _design_page(site: Site, title: Title, card: str | None, store: Store) -> bytes:
    inside = None if card is None else card.removeprefix(f"{title.id}/")
    preview = None if card is None else card.replace("card.jpg", "preview.jpg")
    return setting.design_page(site, title, inside, preview, _changes(site, title, store))


def _changes(site: Site, title: Title, store: Store) -> dict[str, str]:
    """For each older pack what is different in the newest of its size, in the first sentences of a comparison."""
    newest = {pack.size: pack for pack in title.newest}
    return {
        old.place: store.kept("older pack", (site.language, old.digest, new.digest), partial(_told, site, old, new))
        for old in title.older
        if (new := newest.get(old.size)) is not None
    }


def _told(site: Site, old: Published, new: Published) -> str:
    from foamwright.changes.find import compare
    from foamwright.changes.packs import read_pack
    from foamwright.changes.words import headline

    with reading(Reader(site.language)):
        sentences = headline(compare(read_pack(Path(old.folder)), read_pack(Path(new.folder))))
        return say("In {version}: {changes}", version=new.version, changes=" ".join(sentences))


def _pictures(out: Path, site: Site, titles: Iterable[Title], places: set[str], jobs: int) -> None:
    wanted = [title.first for title in titles if title.first.place in places]
    for pack, (card, preview) in zip(wanted, _all(partial(_drawn, site), wanted, jobs)):
        (out / pack.place).mkdir(parents=True, exist_ok=True)
        _write(card, out / pack.place / "card.jpg")
        _write(preview, out / pack.place / "preview.jpg")


def _drawn(site: Site, pack: Published) -> tuple[bytes, bytes]:
    return card_and_preview(Path(pack.folder) / PICTURE, _lines(site, pack))


def _lines(site: Site, pack: Published) -> tuple[str, ...]:
    """What is written on its preview."""
    with reading(Reader(site.language)):
        pieces = count("{n} piece", "{n} pieces", pack.pieces)
        version = say("Version {version}", version=pack.version)
    return pack.name, pack.about["summary"], f"{pieces} · {version} · {pack.about['licence']}"


def _all(work: Callable[[T], R], items: Iterable[T], jobs: int) -> list[R]:
    """`work` on all of them in order, in `jobs` processes if there are many. Its first error is raised."""
    listed = list(items)
    if jobs < 2 or len(listed) < _SIDE_BY_SIDE:
        return [work(item) for item in listed]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(work, listed, chunksize=max(1, len(listed) // (8 * jobs))))


def _old(out: Path) -> Mapping[str, str]:
    """What the site there consists of. BuildError: the folder is another's."""
    manifest = out / MANIFEST
    if not manifest.is_file():
        if any(not entry.name.startswith(".") for entry in os.scandir(out)):
            raise BuildError(f"{out} holds other files and no gallery; choose a new or empty folder")
        return {}
    try:
        content = json.loads(manifest.read_bytes())
        files = {str(path): str(key) for path, key in content["files"].items()}
        if content["format"] != 1 or any(_outside(path) for path in files):
            raise ValueError("not a list of files below it")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise BuildError(f"{manifest} is no list of the files of a gallery; choose a new or empty folder") from error
    return files


def _list(out: Path, keys: Mapping[str, str]) -> None:
    _write(json.dumps({"format": 1, "files": dict(sorted(keys.items()))}, indent=0).encode(), out / MANIFEST)


def _outside(path: str) -> bool:
    return not path or path.startswith("/") or ".." in path.split("/")


def _refuse_collisions(out: Path, old: Mapping[str, str], files: Iterable[str]) -> None:
    for path in files:
        if path not in old and os.path.lexists(f"{out}/{path}"):
            raise BuildError(f"{out / path} is not of the gallery that stands there, and the new one needs its name")


def _remove(out: Path, paths: Iterable[str]) -> None:
    folders: set[PurePosixPath] = set()
    for path in paths:
        (out / path).unlink(missing_ok=True)
        folders.update(PurePosixPath(path).parents)
    for folder in sorted(folders, key=lambda f: len(f.parts), reverse=True):
        if folder.parts and (out / folder).is_dir() and not any(os.scandir(out / folder)):
            (out / folder).rmdir()


def _made(key: str, make: Callable[[], bytes]) -> _File:
    return _File(key, lambda path: _write(make(), path))


def _same(content: bytes) -> bytes:
    return content


def _write(content: bytes, path: Path) -> None:
    write_files({path.name: content}, path.parent)


def _link(source: str, path: Path) -> None:
    """A second name of the pack's file, which nobody changes in place; a copy where the disk has none."""
    from foamwright.pack.folder import link

    path.unlink(missing_ok=True)
    link(Path(source), path)


def _never(path: Path) -> None:
    raise AssertionError(f"pictures are drawn together: {path}")


def _key(*inputs: object) -> str:
    """Hash of what a file is made from, the program among it."""
    return hashlib.sha256(repr((program(), _templates(), inputs)).encode()).hexdigest()


@cache
def _templates() -> str:
    pages = resources.files("foamwright.gallery") / "pages"
    files = sorted((page.name, page.read_bytes()) for page in pages.iterdir() if page.is_file())
    return hashlib.sha256(repr(files).encode()).hexdigest()
