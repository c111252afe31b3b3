"""Packs made by the workers of a dask.distributed scheduler, on whatever machines these run.

A worker that ends takes nothing with it: what it was at, and what it held, is made again by another. A worker makes one
pack at a time, with its own store, and must have the same versions of everything that shapes the bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from threading import Lock
from typing import TYPE_CHECKING, Any

from foamwright.errors import BuildError, DesignError, FaultError, FoamwrightError
from foamwright.libraries import installed
from foamwright.making import Request, made
from foamwright.store import Store, of_this_machine, program

if TYPE_CHECKING:
    from foamwright.many import Watch

_ONE = Lock()  # a process makes one pack at a time, however many threads a worker has
_PATIENCE = 10  # seconds until a scheduler must have answered


def spread(works: Sequence[Callable[[], Any]], address: str, watch: Watch) -> Iterator[tuple[int, Any]]:
    """The number of each of the `works` and what came of it, as they end, made by the workers of the scheduler there.

    What came of it is what it returned, or the FoamwrightError or FaultError that ended it. Works, and what they return,
    are pickled. DesignError: dask.distributed is not installed, or no scheduler answers at the address.
    """
    try:
        from distributed import Client, as_completed
        from distributed.comm import resolve_address
    except ImportError:
        raise DesignError("--scheduler needs dask.distributed: pip install 'foamwright[dask]'") from None
    try:
        resolve_address(address)  # a client that was given none says more than one line as it goes
        client = Client(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        why = " ".join(str(error).split()) or type(error).__name__
        raise DesignError(f"--scheduler {address}: no scheduler answers there ({why})") from None
    with client, client.as_current():
        # errors are results, so that the scheduler does not take them for those of its own
        left = {client.submit(_answer, work, pure=False): number for number, work in enumerate(works)}
        for number in left.values():
            watch(number, "waiting for a worker, or being made by one")
        for future in as_completed(list(left)):
            number = left.pop(future)
            watch(number, "")
            try:
                yield number, future.result()
            except Exception as error:  # no worker lived to tell
                yield number, BuildError(f"no worker finished it: {' '.join(str(error).split())}")
            future.release()


def files_and_record(
    request: Request, only: Sequence[str] | None, keep: bool, source: str
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """The pack that is asked for, made by this process alone; its store is used if `keep` says so.

    BuildError: this machine has other versions than the one that asks, whose program is `source`, or as `made` raises it.
    """
    own, asked = {**installed(), "program": program()[:12]}, {**request.libraries, "program": source[:12]}
    if own != asked:
        names = sorted(name for name in {*own, *asked} if own.get(name) != asked.get(name))
        told = ", ".join(f"{name} {own.get(name, 'none')} instead of {asked.get(name, 'none')}" for name in names)
        raise BuildError(f"the worker would make other bytes: it has {told}")
    with _ONE:
        pack = made(request, only, store=of_this_machine(request.libraries) if keep else Store(None), processes=1)
    return dict(pack.files), dict(pack.record)


def _answer(work: Callable[[], Any]) -> Any:
    try:
        return work()
    except FoamwrightError as error:
        return error
    except Exception as error:
        return FaultError.of(error)
