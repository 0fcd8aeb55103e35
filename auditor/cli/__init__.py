"""The command line: a thin shell. It turns words into calls and what comes back into text; nothing imports it."""

from auditor.cli.main import main

__all__ = ["main"]
