"""The pages. Streamlit runs each file as a script; `dashboard.address.PAGES` names them."""
