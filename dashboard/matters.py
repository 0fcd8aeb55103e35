"""The meeting's matters as sentences, each with where it leads."""

from __future__ import annotations

from typing import Any

from dashboard.words import count, safe

LEADS: dict[str, tuple[str, dict[str, str]]] = {
    "settle": ("intake", {}),
    "correct": ("work-list", {"state": "do not use"}),
    "room air": ("cross-drafts", {}),
    "overdue": ("work-list", {"state": "overdue"}),
    "data": ("contractors", {}),
    "falling": ("hood", {}),
}


def sentence(row: dict[str, Any]) -> str:
    """One row of `auditor.answers.deciding.matters` as Markdown; what comes from the record is inert."""
    number, subject, share, detail = row["count"], safe(row["subject"]), row["share"], safe(row["detail"])
    if row["kind"] == "settle":
        what = count(number, "held survey that fails", "held surveys that fail")
        return f"**Settle {what}** as far as it can be read, {subject} first; until then the hood stays out of use."
    if row["kind"] == "correct":
        notices = f"{detail} without a posted notice"
        return f"**Correct {count(number, 'hood')} and have them surveyed again**: {share} in {subject}; {notices}."
    if row["kind"] == "room air":
        return f"**Have the room air of {subject} looked at**: {share} surveys fail there. First: {detail}."
    if row["kind"] == "overdue":
        return f"**Have {count(number, 'overdue hood')} surveyed**, most of them in {subject} ({share})."
    if row["kind"] == "data":
        held = f"**Send back what holds {count(number, 'survey')} of the year**"
        return f"{held}, most of them from {subject} ({share}); commonest reason: {detail}."
    when = f", which meets its limit about {detail}" if row["detail"] else ""
    return f"**Look at {count(number, 'hood')} whose face velocity falls**, first {subject}{when}."


def lead(row: dict[str, Any]) -> tuple[str, dict[str, str]]:
    """The page, and what to select there."""
    page, selected = LEADS[row["kind"]]
    return (page, {"hood": str(row["subject"])}) if row["kind"] == "falling" else (page, selected)
