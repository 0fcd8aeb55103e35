"""A hood's surveys in a row: which belong together, what changed along the way, how far it is from its start."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.frames import accepted, with_register

DAYS_PER_YEAR = 365.25
SAME_SASH_WITHIN_IN = 1.0  # a survey at another setting tells nothing about the trend at this one
SERIES = ["hood_id", "surveyed_on", "years", "face_mean_fpm", "length"]
KEPT = ["instrument_kind", "unit", "sash_height_in", "occasion", "air_handler", "contractor"]
BREAKS = ["hood_id", "on", "what", "before", "after"]


def hood_series(surveys: pd.DataFrame, register: pd.DataFrame, instruments: pd.DataFrame | None = None) -> pd.DataFrame:
    """Accepted surveys with hood, date and mean, at the hood's working sash height (within 1 in; the hood's median
    where the register has none; a survey without sash height stays in), one row per hood and date (settings of one day
    averaged), in order of hood and date. Columns SERIES (`years` since the hood's first survey, `length` the hood's
    number of rows) and those of KEPT that are there. `instruments` (`instrument_id`, `kind`) gives the instrument kind
    where the surveys do not."""
    surveys = _with_kind(surveys, instruments)
    table = accepted(with_register(surveys, register)).dropna(subset=["hood_id", "surveyed_on", "face_mean_fpm"])
    usual = table.groupby("hood_id")["sash_height_in"].transform("median").astype(float)
    working = pd.to_numeric(table["working_sash_in"], errors="coerce").fillna(usual)
    sash = pd.to_numeric(table["sash_height_in"], errors="coerce")
    table = table[~((sash - working).abs() > SAME_SASH_WITHIN_IN)]
    keep = [name for name in KEPT if name in table]
    how = {"face_mean_fpm": "mean"} | dict.fromkeys(keep, "first")
    table = table.sort_values(["hood_id", "surveyed_on", "survey_id"], kind="stable")
    series = table.groupby(["hood_id", "surveyed_on"], as_index=False).agg(how)
    series["surveyed_on"] = pd.to_datetime(series["surveyed_on"])
    series["face_mean_fpm"] = series["face_mean_fpm"].astype(float).round(6)  # equal as written is equal here
    by_hood = series.groupby("hood_id")["surveyed_on"]
    series["years"] = (series["surveyed_on"] - by_hood.transform("min")).dt.days / DAYS_PER_YEAR
    series["length"] = by_hood.transform("size").astype(int)
    return series.reindex(columns=[*SERIES, *keep])


def _with_kind(surveys: pd.DataFrame, instruments: pd.DataFrame | None) -> pd.DataFrame:
    if instruments is None or instruments.empty or "instrument_id" not in surveys:
        return surveys
    kinds = instruments.dropna(subset=["kind"]).drop_duplicates("instrument_id", keep="last")
    listed = surveys["instrument_id"].map(kinds.set_index("instrument_id")["kind"]).astype(object)
    own = surveys["instrument_kind"].astype(object) if "instrument_kind" in surveys else listed
    return surveys.assign(instrument_kind=own.where(own.notna(), listed))


def breaks(series: pd.DataFrame, register: pd.DataFrame, events: pd.DataFrame | None = None) -> pd.DataFrame:
    """What changed between two surveys of a hood; columns BREAKS, `on` the later survey's date.

    Instrument kind (two instruments of one kind are no break), unit, sash height by more than half an inch, ventilation
    events (`event`, `happened_on`, and `hood_id` or `air_handler`) after the one survey and up to the other.
    """
    found = [_changed(series, name, what) for name, what in _watched(series)]
    found.append(_sash_changed(series))
    if events is not None and len(events):
        found.append(_ventilation(series, events))
    table = pd.concat(found, ignore_index=True)
    return table.sort_values(["hood_id", "on", "what"], kind="stable", ignore_index=True).reindex(columns=BREAKS)


def _watched(series: pd.DataFrame) -> list[tuple[str, str]]:
    return [pair for pair in (("instrument_kind", "instrument kind"), ("unit", "unit")) if pair[0] in series]


def _changed(series: pd.DataFrame, name: str, what: str) -> pd.DataFrame:
    before = series[name].groupby(series["hood_id"]).ffill().groupby(series["hood_id"]).shift()
    differs = before.notna() & series[name].notna() & (before != series[name])
    return _rows(series[differs], what, before[differs], series.loc[differs, name])


def _sash_changed(series: pd.DataFrame) -> pd.DataFrame:
    if "sash_height_in" not in series:
        return pd.DataFrame(columns=BREAKS)
    before = series["sash_height_in"].astype(float).groupby(series["hood_id"]).shift()
    differs = (series["sash_height_in"].astype(float) - before).abs() > 0.5
    return _rows(series[differs], "sash height", before[differs], series.loc[differs, "sash_height_in"])


def _ventilation(series: pd.DataFrame, events: pd.DataFrame) -> pd.DataFrame:
    """Each event at the first survey on or after it, of a hood that has an earlier one."""
    keys = [key for key in ("hood_id", "air_handler") if key in events and key in series]
    found = []
    for key in keys:
        joined = series.merge(events.dropna(subset=[key])[[key, "happened_on", "event"]], on=key)
        previous = joined.groupby(["hood_id", "happened_on", "event"])["surveyed_on"].shift()
        on = pd.to_datetime(joined["happened_on"])
        hit = joined[(on <= joined["surveyed_on"]) & (on > previous)]
        found.append(_rows(hit, "ventilation", pd.Series(None, index=hit.index, dtype=object), hit["event"]))
    return pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=BREAKS)


def _rows(at: pd.DataFrame, what: str, before: pd.Series, after: pd.Series) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "hood_id": at["hood_id"].to_numpy(),
            "on": at["surveyed_on"].to_numpy(),
            "what": what,
            "before": before.astype(object).to_numpy(),
            "after": after.astype(object).to_numpy(),
        }
    )


def drift(series: pd.DataFrame) -> pd.DataFrame:
    """How far each hood's last mean is from its start; by hood_id: `drift_fpm`, `drift_percent`, `drift_since` (date),
    `drift_from` ('initial' where the start is an initial survey, else 'first on record'). Missing for one survey."""
    initial = series["occasion"].eq("initial") if "occasion" in series else pd.Series(False, index=series.index)
    ordered = series.assign(initial=initial).sort_values(["hood_id", "initial", "surveyed_on"], kind="stable")
    # The latest initial survey is the start of the hood as it now is; without one, the first on record.
    by_hood = ordered.groupby("hood_id")
    start = by_hood.last().where(by_hood["initial"].max(), by_hood.first())
    last = series.groupby("hood_id").last()
    moved = last["face_mean_fpm"] - start["face_mean_fpm"]
    several = last["surveyed_on"] > start["surveyed_on"]
    return pd.DataFrame(
        {
            "drift_fpm": moved.where(several),
            "drift_percent": (100 * moved / start["face_mean_fpm"].replace(0, np.nan)).where(several),
            "drift_since": start["surveyed_on"].where(several),
            "drift_from": by_hood["initial"].max().map({True: "initial", False: "first on record"}).where(several),
        }
    )
