"""Addresses: every selection stands in the query, so that a view can be sent; some are carried from page to page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import streamlit as st

from dashboard.units import FPM, UNITS, Unit
from dashboard.words import safe

CARRIED = ("unit", "year", "building")
PAGES = {
    "this-year": ("screens/this_year.py", "This year", ""),
    "cross-drafts": ("screens/cross_drafts.py", "Cross-drafts", "cross-drafts"),
    "hood": ("screens/hood.py", "Hood", "hood"),
    "work-list": ("screens/work_list.py", "Work list", "work-list"),
    "intake": ("screens/intake.py", "Intake", "intake"),
    "contractors": ("screens/contractors.py", "Contractors", "contractors"),
    "held-survey": ("screens/held_survey.py", "Held survey", "held-survey"),
}
HIDDEN = ("held-survey",)  # reached by links only


def carry(page: str) -> None:
    """Streamlit drops the query when the page changes: what is carried is put back, and then remembered."""
    kept = st.session_state.setdefault("_carried", {})
    if st.session_state.get("_page") != page:
        for key in CARRIED:
            if key not in st.query_params and key in kept:
                st.query_params[key] = kept[key]
    st.session_state["_page"] = page
    st.session_state["_carried"] = {key: st.query_params[key] for key in CARRIED if key in st.query_params}


def query(**selected: Any) -> dict[str, str]:
    """A query of what is carried and what is given; a selection of None is left out."""
    kept = {key: st.query_params[key] for key in CARRIED if key in st.query_params}
    return {key: str(value) for key, value in (kept | selected).items() if value is not None}


def link(page: str, label: str, **selected: Any) -> None:
    """A link to a page with these selections. `label` is Markdown: what comes from a sheet must be `safe`."""
    st.page_link(PAGES[page][0], label=label, query_params=query(**selected))


def go(page: str, **selected: Any) -> None:
    st.switch_page(PAGES[page][0], query_params=query(**selected))


def given(key: str) -> str | None:
    """What the address says for `key`."""
    return st.query_params.get(key) or None


def set_to(**selected: Any) -> None:
    for key, value in selected.items():
        if value is None:
            st.query_params.pop(key, None)
        else:
            st.query_params[key] = str(value)


def unit() -> Unit:
    return UNITS.get(st.query_params.get("unit", ""), FPM)


def choose(
    label: str,
    key: str,
    options: Sequence[Any],
    *,
    default: Any = None,
    shown: Callable[[Any], str] = str,
    widget: str = "selectbox",
    clears: Sequence[str] = (),
    hide_label: bool = False,
    name: str = "",
) -> Any:
    """A choice that stands in the address under `key`; a value there that is no option gives a message. `clears`: other
    keys that lose their meaning when this one changes. `name`: tells two choices of the same key on a page apart."""
    if not options:
        return None
    first = default if default in options else options[0]
    written = st.query_params.get(key)
    chosen = next((option for option in options if str(option) == written), None)
    if written is not None and chosen is None and not name:
        st.warning(f"The address asks for {label.lower()} “{safe(written, 60)}”, which the record does not have.")
    name = f"choice:{name or key}"
    st.session_state[name] = first if chosen is None else chosen

    def changed() -> None:
        value = st.session_state[name]
        set_to(**dict.fromkeys(clears), **{key: first if value is None else value})

    visibility: Any = "collapsed" if hide_label else "visible"
    if widget == "segments":
        picked = st.segmented_control(
            label, options, format_func=shown, key=name, on_change=changed, label_visibility=visibility
        )
    else:
        picked = st.selectbox(
            label, options, format_func=shown, key=name, on_change=changed, label_visibility=visibility
        )
    return first if picked is None else picked
