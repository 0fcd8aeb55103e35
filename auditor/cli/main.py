"""Entry point of `hoodaudit`: parses, runs one command, and turns every failure into one line and an exit status."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from auditor.cli.parser import build_parser

DONE, DOUBTS, USAGE, COULD_NOT = 0, 1, 2, 3


class CannotDo(Exception):
    """Something outside the program stands in the way. The message says in one line what, and how to mend it."""


class WrongUse(Exception):
    """The command's words do not fit. The message says in one line which and what would."""


def main(argv: Sequence[str] | None = None) -> int:
    """Runs `hoodaudit` with these words (default: the process's own) and returns the exit status."""
    options = build_parser().parse_args(argv)
    try:
        status = _run(options)
        sys.stdout.flush()
        return status
    except (WrongUse, CannotDo) as trouble:
        return _say(str(trouble), USAGE if isinstance(trouble, WrongUse) else COULD_NOT)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # the reader has left; nothing to report
        return DONE
    except KeyboardInterrupt:
        return _say("stopped; what was recorded before stays whole", 130)
    except MemoryError:
        return _say("not enough memory; hand in fewer workbooks at a time", COULD_NOT)
    except OSError as trouble:
        what = f"{trouble.filename}: " if trouble.filename else ""
        return _say(f"{what}{trouble.strerror or trouble}", COULD_NOT)


def _run(options) -> int:
    from importlib import import_module

    from auditor.store import StoreUnavailable

    module, function = options.run.split(":")
    command = getattr(import_module(f"auditor.cli.{module}"), function)
    try:
        return command(options)
    except StoreUnavailable as trouble:
        raise CannotDo(str(trouble)) from trouble


def _say(line: str, status: int) -> int:
    print(f"hoodaudit: {' '.join(line.split())}", file=sys.stderr)
    return status
