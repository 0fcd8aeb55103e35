"""What pages share: the line above and the line below, tables, charts with their table and downloads."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import pandas as pd
import streamlit as st

from auditor.answers.states import DO_NOT_USE
from dashboard import address, record
from dashboard.charts.style import Drawn, styled
from dashboard.units import UNITS
from dashboard.words import CAUTION, LOOKS, MISSING, count, day, missing, plain, safe, shaped

TALL, COLOURED = 12, 500  # rows shown without scrolling, rows that carry colours
__all__ = ["badge", "caution", "chart", "foot", "hood_links", "pick", "safe", "standing", "table"]


def standing() -> None:
    """The line above every page: the hoods that must not be used, and the unit."""
    states = record.states()
    barred = states[states["state"].isin(DO_NOT_USE)]
    with st.container(horizontal=True, vertical_alignment="center", key="standing", horizontal_alignment="distribute"):
        if len(barred):
            words = f":red[■ {count(len(barred), 'hood')} must not be used]"
            address.link("work-list", words, state="do not use", building=None)
        else:
            address.link("work-list", "● No hood is barred from use", state="do not use", building=None)
        address.choose(
            "Unit", "unit", list(UNITS), shown=lambda key: UNITS[key].name, widget="segments", hide_label=True
        )


def foot() -> None:
    st.divider()
    place = record.store().name.rsplit("/", 1)[-1]
    st.caption(f"{CAUTION} Record: {safe(place)}; as of {record.today().isoformat()}.")


def long_answer(question: Callable[..., Any], doing: str) -> Any | None:
    """The answer to a question that may take long. Where it is not there within a page's patience: None, a word about
    it, and the page looks again by itself."""
    with st.spinner(doing):
        found = record.ask_later(question)
    if found is None:
        st.info("This takes longer on a large record. It is being worked out, and shows here by itself.")

        @st.fragment(run_every=4)
        def look_again() -> None:
            if record.ask_later(question) is not None:
                st.rerun()

        look_again()
    return found


def caution() -> None:
    """The trade's caution, beside verdicts."""
    st.caption(CAUTION)


def badge(word: Any) -> None:
    """A verdict or a state in word, shape and colour."""
    look = LOOKS.get(word)
    st.badge(shaped(word), color=look[1] if look else "gray")  # type: ignore[arg-type]


def table(frame: pd.DataFrame, headings: Mapping[str, str], *, name: str = "") -> None:
    """A short table as real text: readable aloud, and on paper. Values are made inert."""
    shown = pd.DataFrame({heading: [_cell(v) for v in frame[key]] for key, heading in headings.items()})
    st.table(shown, hide_index=True, border="horizontal", alt=name or None)


def _cell(value: Any) -> str:
    if isinstance(value, pd.Timestamp):
        return day(value)
    if isinstance(value, float) and not missing(value):
        return safe(f"{value:,.10g}")
    return safe(shaped(value)) if value in LOOKS else safe(value)


def pick(
    frame: pd.DataFrame,
    headings: Mapping[str, str],
    key: str,
    *,
    page: str,
    formats: Mapping[str, str] | None = None,
    alt_text: str = "",
    **keys: str,
) -> None:
    """A long table; a click on a row opens `page` with, for each of `keys`, the row's value in that column. A format
    'share' shows a fraction in whole per cent."""
    formats = formats or {}
    shares = [name for name, form in formats.items() if form == "share"]
    shown = pd.DataFrame({name: _column(frame[name]) for name in headings}).assign(
        **{name: frame[name].astype(float) * 100 for name in shares}
    )
    config: dict[str, Any] = dict(headings)
    for name, form in formats.items():
        config[name] = st.column_config.NumberColumn(headings[name], format="%.0f %%" if form == "share" else form)
    state: Any = st.dataframe(
        _coloured(shown),
        hide_index=True,
        column_config=config,
        key=key,
        on_select="rerun",
        selection_mode="single-cell",
        height="content" if len(shown) <= TALL else 38 + 35 * TALL,
        placeholder=MISSING,
        alt=alt_text or None,
    )
    cells = state["selection"]["cells"]
    if cells:
        row = frame.iloc[cells[0][0]]
        address.go(page, **{name: row[column] for name, column in keys.items() if not missing(row[column])})


def _coloured(shown: pd.DataFrame) -> Any:
    """Verdicts and states in their colour, where the table is short enough to carry it."""
    words = {shaped(word): look[2] for word, look in LOOKS.items()}
    told = [name for name in shown if shown[name].map(lambda v: isinstance(v, str) and v in words).any()]
    if not told or len(shown) > COLOURED:
        return shown
    return shown.style.map(lambda v: f"color: {words[v]}; font-weight: 600" if v in words else "", subset=told)


def _column(values: pd.Series) -> pd.Series:
    if pd.api.types.is_datetime64_any_dtype(values):
        return values.dt.strftime("%Y-%m-%d")
    if values.dtype == object or pd.api.types.is_string_dtype(values):
        return values.map(lambda v: None if missing(v) else shaped(v) if v in LOOKS else plain(v, 300))
    whole = pd.api.types.is_float_dtype(values) and bool((values.dropna() % 1 == 0).all())
    return values.astype("Int64") if whole else values


def hood_links(frame: pd.DataFrame) -> None:
    """Hoods as links, with place and reason; `state` in word, shape and colour."""
    for row in frame.to_dict("records"):
        what, who, why = st.columns([2.6, 1.1, 7.3], vertical_alignment="top", gap="small")
        with what:
            badge(row["state"])
        with who:
            address.link("hood", f"**{safe(row['hood_id'])}**", hood=row["hood_id"])
        place = ", ".join(safe(row[name]) for name in ("building", "room") if not missing(row.get(name)))
        why.markdown(f"{place}, since {day(row['since'])}: {safe(row['reason'])}")


def chart(
    drawn: Drawn,
    frame: pd.DataFrame,
    name: str,
    says: str,
    *,
    headings: Mapping[str, str] | None = None,
    width: Any = "stretch",
) -> None:
    """A chart, what it says in a sentence, and the table behind it to read and to download. The chart itself is saved
    (png, svg) by the menu at its corner."""
    st.altair_chart(styled(drawn, st.context.theme.type == "dark"), width=width, theme="streamlit", alt=says)
    st.caption(safe(says))
    with st.expander("The figures behind this chart, and downloads"):
        named = frame[list(headings)].rename(columns=dict(headings)) if headings else frame
        st.dataframe(named, hide_index=True, placeholder=MISSING, alt=f"Table behind the chart: {says}")
        with st.container(horizontal=True):
            downloads(named, name)


def downloads(frame: pd.DataFrame, name: str) -> None:
    """The table as csv and xlsx, text in them guarded."""
    from auditor.documents.tables import write_table

    def written(kind: str) -> bytes:
        out = io.BytesIO()
        write_table(frame, out, kind)
        return out.getvalue()

    xlsx = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    for kind, mime in (("csv", "text/csv"), ("xlsx", xlsx)):
        st.download_button(
            kind.upper(),
            partial(written, kind),
            f"{name}.{kind}",
            mime,
            on_click="ignore",
            key=f"{kind}:{name}",
        )
