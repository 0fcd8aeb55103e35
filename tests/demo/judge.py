"""A small judge of its own, written from the limits called common practice (none of them has a source), so that the
program's verdicts are compared with a second computation. Exact fractions, nothing shared with the program.

Beyond it: a point below 60 ft/min, a mean below 60, smoke that escapes or reverses: fail. A mean below 80 or above 150,
a point more than 25 % from the mean, a cross-draft above 20 ft/min or above 20 % of the mean: restricted.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

FPM_PER = {"ft/min": Fraction(1), "m/s": Fraction(1) / Fraction("0.00508")}
SMOKE_FAILS = ("escape", "reverse")


def fpm(written: float | int, unit: str) -> Fraction:
    return Fraction(str(written)) * FPM_PER[unit]


def judge(
    face: Sequence[Fraction], cross: Sequence[Fraction], smoke: Sequence[str | None], *, judged: bool = True
) -> tuple[str, list[str]]:
    """(verdict, criteria not met). `smoke` is (small source, large volume), None where it was not done or says
    nothing. `judged` is False where a face velocity says nothing about the hood, or the sash stood too low."""
    if not judged:
        return "not judged", []
    mean = sum(face, Fraction(0)) / len(face)
    unmet = []
    if min(face) < 60:
        unmet.append("face-point-low")
    if mean < 80 or mean > 150:
        unmet.append("face-mean-low" if mean < 80 else "face-mean-high")
    if any(abs(v - mean) > mean / 4 for v in face):
        unmet.append("face-point-spread")
    if cross and max(cross) > 20:
        unmet.append("cross-draft-absolute")
    if cross and max(cross) > mean / 5:
        unmet.append("cross-draft-relative")
    for code, words in zip(("smoke-local", "smoke-gross"), smoke, strict=True):
        if words and any(w in words for w in SMOKE_FAILS):
            unmet.append(code)
    if mean < 60 or {"face-point-low", "smoke-local", "smoke-gross"} & set(unmet):
        return "fail", unmet
    if unmet:
        return "restricted", unmet
    return ("pass" if cross and smoke[0] else "not judged"), unmet


def on_a_limit(face: Sequence[Fraction], cross: Sequence[Fraction]) -> bool:
    """True where a figure stands exactly on a limit, which the demo avoids: floats would have to decide it."""
    mean = sum(face, Fraction(0)) / len(face)
    figures: list[Fraction] = [
        mean - 80,
        mean - 60,
        mean - 150,
        *(v - 60 for v in face),
        *(abs(v - mean) - mean / 4 for v in face),
    ]
    figures += [v - 20 for v in cross] + [v - mean / 5 for v in cross]
    return any(abs(f) < Fraction(1, 10**6) for f in figures)
