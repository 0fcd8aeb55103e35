"""The same content gives the same bytes: times out of office files and their archives."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile

_STAMP = re.compile(rb"(<dcterms:(created|modified)[^>]*>)[^<]*(</dcterms:)")
_OFFICE = (".xlsx", ".pptx")


def fixed(data: bytes, day: dt.date) -> bytes:
    """An office file with `day` for all its times; workbooks inside it (those of charts) likewise."""
    out = io.BytesIO()
    when = (max(day.year, 1980), day.month, day.day, 0, 0, 0)
    said = f"{day.isoformat()}T00:00:00Z".encode()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            if name.endswith(_OFFICE):
                part = fixed(part, day)
            elif name == "docProps/core.xml":
                part = _STAMP.sub(rb"\g<1>" + said + rb"\g<3>", part)
            entry = zipfile.ZipInfo(name, when)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o600 << 16
            new.writestr(entry, part)
    return out.getvalue()
