"""Runs a suite over a whole frame with great-expectations, and trusts no result that is not plainly one.

A context is kept for each thread: one shared between threads gives wrong results without a sign. Nothing is stored,
nothing is sent and no progress is drawn.
"""

from __future__ import annotations

import os
import threading
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from expectations.suites import SUITES, Check, build

if TYPE_CHECKING:
    import pandas as pd

# Every row at fault, by index label; neither their values nor a query that would find them again.
FORMAT: Any = {
    "result_format": "COMPLETE",
    "return_unexpected_index_query": False,
    "exclude_unexpected_values": True,
    "partial_unexpected_count": 0,
}
_local = threading.local()


@dataclass(slots=True)
class Outcome:
    """Index labels at fault, by check; and the checks that could not run, with the reason."""

    failed: dict[Check, list[Any]] = field(default_factory=dict)
    not_run: dict[Check, str] = field(default_factory=dict)


def _batch_definition() -> Any:
    """This thread's, made once."""
    if not hasattr(_local, "definition"):
        os.environ.setdefault("GX_ANALYTICS_ENABLED", "false")
        import great_expectations as gx
        from great_expectations.data_context.types.base import ProgressBarsConfig

        context = gx.get_context(mode="ephemeral")
        context.variables.progress_bars = ProgressBarsConfig(globally=False)
        context.variables.analytics_enabled = False
        asset = context.data_sources.add_pandas("audit").add_dataframe_asset("batch")
        _local.context, _local.definition = context, asset.add_batch_definition_whole_dataframe("whole")
    return _local.definition


def run(suite: str, frame: pd.DataFrame, severities: dict[str, str]) -> Outcome:
    """What the suite ('surveys', 'readings', 'workbooks') finds in `frame`, whose index labels must be unique."""
    checks = {check.name: check for check in SUITES[suite]}
    outcome = Outcome()
    if frame.empty:
        return outcome
    columns = list(dict.fromkeys(check.column for check in checks.values() if check.column in frame.columns))
    # Own labels, 0 to n - 1: cheap to compare, and unique whatever the caller's are.
    plain = frame[columns].reset_index(drop=True)
    try:
        batch = _batch_definition().get_batch(batch_parameters={"dataframe": plain})
        results = batch.validate(build(suite, severities), result_format=FORMAT).results
    except Exception as error:  # noqa: BLE001 - whatever it is, no check has run, and that must be said
        outcome.not_run = dict.fromkeys(checks.values(), _reason(error))
        return outcome
    for result in results:
        check = checks.pop(str((result.expectation_config.meta or {}).get("check")), None)
        if check is not None:
            _take(outcome, check, result, len(plain), frame.index)
    outcome.not_run |= dict.fromkeys(checks.values(), "it gave no result")
    return outcome


def _take(outcome: Outcome, check: Check, result: Any, rows: int, labels: pd.Index) -> None:
    """Files one result: as passed, as failed with the rows at fault, or as not run where anything is odd."""
    found = result.result or {}
    positions = found.get("unexpected_index_list") or []
    if not found or found.get("element_count") != rows:
        outcome.not_run[check] = _raised(result.exception_info) or "it did not look at every row"
    elif len(positions) != found.get("unexpected_count") or bool(positions) == bool(result.success):
        outcome.not_run[check] = "its result does not say which rows are at fault"
    elif positions:
        outcome.failed[check] = labels.take(sorted(positions)).tolist()


def _raised(info: Any) -> str:
    """The first exception message in a result's exception_info, which is one entry or a table of them."""
    entries = info.values() if isinstance(info, dict) and "raised_exception" not in info else [info or {}]
    messages = (entry.get("exception_message") for entry in entries if isinstance(entry, dict))
    return next((_one_line(message) for message in messages if message), "")


def _reason(error: Exception) -> str:
    return _one_line(f"{type(error).__name__}: {error}")


def _one_line(text: str) -> str:
    return " ".join(str(text).split())[:300]
