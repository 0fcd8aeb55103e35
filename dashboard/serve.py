"""`python -m dashboard.serve run dashboard/app.py …`: Streamlit's own command, with the first page's answers asked for
behind the scenes while the server starts."""

from __future__ import annotations

import sys
import threading


def main() -> None:
    from streamlit.web.cli import main as streamlit

    from dashboard.record import warm

    threading.Thread(target=warm, name="warm", daemon=True).start()
    sys.argv[0] = "streamlit"
    sys.exit(streamlit())


if __name__ == "__main__":
    main()
