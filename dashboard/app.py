"""The dashboard's entry: the pages, what stands above each of them, and what to say when the record is not there."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from dashboard import address, parts, record

HERE = Path(__file__).parent


def main() -> None:
    st.set_page_config(page_title="Hood surveys", page_icon="▤", layout="wide")
    st.html(HERE / "style.css")
    st.session_state.pop("_record_state", None)
    pages = [
        st.Page(
            file,
            title=title,
            url_path=path or None,
            default=not path,
            visibility="hidden" if name in address.HIDDEN else "visible",
        )
        for name, (file, title, path) in address.PAGES.items()
    ]
    page = st.navigation(pages, position="top")
    if not signed_in():
        return
    address.carry(page.url_path or "this-year")
    try:
        record.now()
    except record.StoreUnavailable as trouble:
        st.title("The record cannot be opened")
        st.error(parts.safe(trouble))
        st.write("Serve the dashboard with the address of a record: hoodaudit dashboard --store FILE")
        return
    parts.standing()
    page.run()
    parts.foot()


def signed_in() -> bool:
    """Whether the pages may be shown: where sign-in is configured (dashboard/README.md), to those signed in only."""
    if not st.secrets.load_if_toml_exists() or "auth" not in st.secrets or st.user.is_logged_in:
        return True
    st.title("Hood surveys")
    st.button("Sign in", on_click=st.login)
    return False


main()
