"""The discrepancy codes: severity, title, message, remedy and what mends them, read once from `codes.toml`.

Bottom level: imports the standard library only. Text from a sheet is untrusted; it is made inert and short here,
before it goes into a message.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

SEVERITIES = ("hold", "caution")
WRITTEN_LENGTH = 120  # characters of a sheet's text that are quoted
DETAIL_LENGTH = 600  # a detail is our own sentence, with quoted text in it

_PLACEHOLDER = re.compile(r"\{(\w+)\}")
_OPTIONAL = re.compile(r"\[([^\[\]]*)\]")
_ERASED = ("Cf", "Cs", "Co", "Cn")  # direction marks, zero-width characters, halves of pairs, the unassigned
_UNITS = ("fpm", "lfm", "mph", "kph", "ppm", "cfm", "in", "ft", "mm", "cm", "m")
_SPACED = ("Cc", "Zl", "Zp")


class CodesError(ValueError):
    """A file of severities that cannot be used. The text says which file, where in it, and how to mend it."""


@dataclass(frozen=True, slots=True)
class Code:
    """One discrepancy code, or one variant of it (then `variant` names it)."""

    code: str
    severity: str
    title: str
    message: str
    remedy: str
    mends: str
    variant: str = ""
    fixed: bool = False
    variants: Mapping[str, Code] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """`code`, or `code/variant`: the name under which a campus sets its severity."""
        return f"{self.code}/{self.variant}" if self.variant else self.code


def _read_codes() -> dict[str, Code]:
    raw = tomllib.loads(Path(__file__).with_name("codes.toml").read_text(encoding="utf-8"))
    codes = {}
    for name, entry in raw.items():
        own = {key: value for key, value in entry.items() if key != "variants"}
        variants = {
            key: Code(code=name, variant=key, **(own | changed)) for key, changed in entry.get("variants", {}).items()
        }
        codes[name] = Code(code=name, variants=variants, **own)
    return codes


CODES: dict[str, Code] = _read_codes()


def find(code: str, variant: str = "") -> Code:
    """The Code of that name. `code` may be a key, 'code/variant'. KeyError for one that does not exist."""
    if "/" in code:
        code, variant = code.split("/", 1)
    return CODES[code].variants[variant] if variant else CODES[code]


@lru_cache(maxsize=16384)
def inert(text: str, length: int = WRITTEN_LENGTH) -> str:
    """Sheet text fit for a message: one line, no control or direction characters, at most `length` characters."""
    kinds = ((c, unicodedata.category(c)) for c in text)
    kept = "".join(" " if kind in _SPACED else c for c, kind in kinds if kind not in _ERASED)
    kept = " ".join(kept.split())
    return kept if len(kept) <= length else kept[: length - 1].rstrip() + "…"


def _text(value: Any, length: int) -> str:
    if value is None or value != value:  # None, NaN, NaT
        return ""
    # A very long text is cut before it is cleaned: cleaning must not cost more than the message is worth.
    return inert(str(value)[: length * 20], length)


def _sentence(text: str) -> str:
    """`text` with a capital, unless it begins with a unit ('m/s', 'fpm'), and with a full stop."""
    first = text.split(" ", 1)[0]
    if first.isalpha() and first.islower() and first not in _UNITS:
        text = text[0].upper() + text[1:]
    return text if not text or text[-1] in ".!?…" else text + "."


def _fill(template: str, values: Mapping[str, str]) -> str:
    """`template` with its placeholders filled in one pass, so that nothing in a value is taken for a placeholder."""

    def plain(part: str) -> str:
        return _PLACEHOLDER.sub(lambda match: values.get(match[1], ""), part)

    filled, start = [], 0
    for match in _OPTIONAL.finditer(template):
        filled.append(plain(template[start : match.start()]))
        if all(values.get(name) for name in _PLACEHOLDER.findall(match[1])):
            filled.append(plain(match[1]))
        start = match.end()
    return "".join([*filled, plain(template[start:])]).strip()


def compose(
    code: str, *, written: Any = "", detail: Any = "", cell: Any = "", variant: str = "", **more: Any
) -> tuple[str, str]:
    """(message, remedy) for one case of `code` (or 'code/variant').

    `written` is the sheet's text, `detail` one or more plain sentences about this case, `cell` a cell or range; what
    is missing (None, NaN, '') leaves no trace in the message. KeyError for a code that does not exist.
    """
    found = find(code, variant)
    values = {name: _text(value, WRITTEN_LENGTH) for name, value in more.items()}
    values |= {"written": _text(written, WRITTEN_LENGTH), "cell": _text(cell, WRITTEN_LENGTH)}
    values["detail"] = _sentence(_text(detail, DETAIL_LENGTH))
    return _fill(found.message, values) or _sentence(found.title), _fill(found.remedy, values)


def default_severities() -> dict[str, str]:
    """Severity by key: every code, and every variant as 'code/variant'."""
    every = [each for code in CODES.values() for each in (code, *code.variants.values())]
    return {each.key: each.severity for each in every}


def load_severities(path: str | Path | None = None) -> dict[str, str]:
    """Severity ('hold' or 'caution') of every code and variant, with a campus's own changes from a TOML file.

    The file has a table `[severities]` of lines such as `place-differs = "hold"`; a variant is written
    `"reported-verdict-differs/sheet-passes" = "hold"`. CodesError, naming file and entry, for anything else.
    """
    severities = default_severities()
    if path is None:
        return severities
    changes = _read_changes(Path(path))
    for key, severity in changes.items():
        where = f"{path}, [severities], '{inert(key)}'"
        if key not in severities:
            raise CodesError(f"{where}: there is no such code. The codes are: {', '.join(sorted(severities))}.")
        if not isinstance(severity, str) or severity not in SEVERITIES:
            raise CodesError(f'{where}: {inert(repr(severity))} is no severity. Write "hold" or "caution".')
        if find(key).fixed and severity != find(key).severity:
            raise CodesError(f"{where}: the severity of this code cannot be changed. Take the line out.")
        severities[key] = severity
    return severities


def _read_changes(path: Path) -> dict[str, Any]:
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise CodesError(f"{path}: cannot be read ({error.strerror or error}).") from error
    except UnicodeDecodeError as error:
        raise CodesError(f"{path}: is not UTF-8 text. Save it as UTF-8.") from error
    except tomllib.TOMLDecodeError as error:
        raise CodesError(f"{path}: is not valid TOML: {error}.") from error
    strangers = sorted(set(raw) - {"severities"})
    if strangers:
        raise CodesError(f"{path}, '{inert(strangers[0])}': only a table [severities] is expected here.")
    changes = raw.get("severities", {})
    if not isinstance(changes, dict):
        raise CodesError(
            f"{path}, 'severities': must be a table, [severities], with lines such as date-missing = \"hold\"."
        )
    return changes
