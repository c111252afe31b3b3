"""The command `foamwright`: reads arguments, has a command run, gives its exit code. Nothing is decided here."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from functools import partial
from importlib import import_module

from foamwright import __version__, commands
from foamwright.commands.build import EXAMPLE
from foamwright.errors import FaultError, FoamwrightError, refused_by_machine
from foamwright.terminal import FAULT, Arguments, complain, fault, open_terminal, silence, tell_all

STOPPED, NOBODY_READS = 130, 141  # exit codes beside those of the errors


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; returns its exit code.

    0 done, 1 cannot be built, 2 the design or the call is wrong; 70 a fault of the program itself (EX_SOFTWARE of
    sysexits.h), 130 stopped by hand, 141 nobody reads on (128 and the number of the signal, as shells count).
    """
    open_terminal()
    options = _parser().parse_args(arguments)
    try:
        code: int = options.run(options)
        tell_all()
        return code
    except FoamwrightError as error:
        complain(str(error))
        return error.exit_code
    except FaultError as error:
        complain(fault(str(error)))
        return FAULT
    except KeyboardInterrupt:
        complain("stopped; what was not told as finished is as it was before")
        return STOPPED
    except BrokenPipeError:
        silence()
        return NOBODY_READS
    except Exception as error:
        refusal = refused_by_machine(error)
        if refusal is not None:
            complain(str(refusal))
            return refusal.exit_code
        if options.trace:
            raise
        complain(fault(str(FaultError.of(error))))
        return FAULT


def _parser() -> argparse.ArgumentParser:
    parser = Arguments(
        prog="foamwright",
        description="Turn a prop described in a YAML file into a complete, printable foam template pack.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=EXAMPLE,
    )
    parser.add_argument("--version", action="version", version=f"foamwright {__version__}")
    subparsers = parser.add_subparsers(metavar="COMMAND", required=True)
    for name in commands.NAMES:
        import_module(f"foamwright.commands.{name}").add(partial(_command, subparsers))
    return parser


def _command(
    subparsers: argparse._SubParsersAction[Arguments], name: str, summary: str, example: str
) -> argparse.ArgumentParser:
    command = subparsers.add_parser(
        name,
        help=summary,
        description=summary[:1].upper() + summary[1:] + ".",
        epilog=example,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.add_argument("--trace", action="store_true", help="if the program itself fails, show where")
    return command


if __name__ == "__main__":
    sys.exit(main())
