"""Runs the reader over random layouts and prints what became of them.

`python -m tests.layouts.run --count 2000 --seed 0` for sound workbooks, `--fault NAME` for one planted fault,
`--fault all` for each in turn, `--hard` for the hand-made cases, `--pipeline` for the whole command.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.layouts.check import BAD, Outcome, judge
from tests.layouts.generator import FAULTS, make_case
from tests.layouts.truth import Case

NOT_GOOD = ("crash", "wrong", "invented", "missed", "lost", "held though sound", "held, other code")


class Tally:
    """Counts of outcomes, whole and by feature, with the failures named."""

    def __init__(self) -> None:
        self.kinds: Counter[str] = Counter()
        self.by_feature: dict[str, Counter[str]] = defaultdict(Counter)
        self.failures: list[tuple[str, str, Outcome]] = []
        self.codes_due = self.codes_lost = 0
        self.layouts = self.layouts_whole = self.facts_wrong = 0

    def add(self, label: str, case: Case, outcomes: list[Outcome]) -> list[Outcome]:
        failed = [o for o in outcomes if o.kind in NOT_GOOD or o.codes_lost or o.facts_wrong]
        self.facts_wrong += sum(len(o.facts_wrong) for o in outcomes)
        self.layouts += 1
        self.layouts_whole += not [o for o in outcomes if o.kind in NOT_GOOD]
        for outcome in outcomes:
            self.kinds[outcome.kind] += 1
            self.codes_due += len(outcome.codes_due)
            self.codes_lost += len(outcome.codes_lost)
            for feature in case.features:
                self.by_feature[feature][outcome.kind] += 1
        self.failures += [(label, case.name, o) for o in failed]
        return failed

    @property
    def bad(self) -> int:
        return sum(self.kinds[k] for k in BAD)

    @property
    def sound(self) -> int:
        return sum(self.kinds[k] for k in ("read right", "held though sound", "lost", "wrong"))

    def summary(self) -> str:
        order = ("read right", "held right", "held though sound", "lost", "held, other code", "later", "missed",
                 "invented", "wrong", "crash")  # fmt: skip
        counts = " · ".join(f"{k} {self.kinds[k]}" for k in order if self.kinds[k])
        codes = f"codes {self.codes_due - self.codes_lost}/{self.codes_due}"
        whole = f"layouts whole {self.layouts_whole}/{self.layouts}"
        return f"{counts} · {whole} · {codes} · other facts wrong {self.facts_wrong}"

    def features(self) -> Iterator[str]:
        """One line for each feature, the worst first."""

        def badness(item: tuple[str, Counter[str]]) -> float:
            return -sum(item[1][k] for k in NOT_GOOD) / max(1, sum(item[1].values()))

        for feature, counts in sorted(self.by_feature.items(), key=badness):
            total = sum(counts.values())
            wrong = sum(counts[k] for k in BAD)
            held = counts["held though sound"] + counts["lost"]
            yield f"  {feature:28} {total:5} surveys  not read {held:4} ({100 * held / total:5.1f} %)  wrong {wrong}"


def random_cases(count: int, seed: int, fault: str | None) -> Iterator[tuple[str, Case]]:
    for one in range(seed, seed + count):
        yield f"{one}{' --fault ' + fault if fault else ''}", make_case(one, fault)


def run(cases: Iterable[tuple[str, Case]], stop_at_first: bool = False, progress: bool = False) -> Tally:
    """Judges every case; with `stop_at_first` ends at the first failure."""
    tally = Tally()
    for n, (label, case) in enumerate(cases, start=1):
        failed = tally.add(label, case, judge(case))
        if progress and n % 200 == 0:
            print(f"... {n}: {tally.summary()}", file=sys.stderr)
        if failed and stop_at_first:
            break
    return tally


def report(tally: Tally, show: int, features: bool) -> None:
    order = {k: i for i, k in enumerate(NOT_GOOD)}
    for label, name, o in sorted(tally.failures, key=lambda f: order.get(f[2].kind, 99))[:show]:
        lost = f" [code not raised: {', '.join(o.codes_lost)}]" if o.codes_lost else ""
        lost += f" [also wrong: {'; '.join(o.facts_wrong)}]" if o.facts_wrong else ""
        where = name if label == name else f"--seed {label}  {name}"
        print(f"  {o.kind:18} {where} [{o.sheet}] {o.hood}: {o.detail[:300]}{lost}")
    if len(tally.failures) > show:
        print(f"  ... and {len(tally.failures) - show} more")
    if features:
        for line in tally.features():
            print(line)


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.layouts.run", description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--fault", choices=[*FAULTS, "all"], help="plant this fault")
    parser.add_argument("--hard", action="store_true", help="the hand-made cases instead")
    parser.add_argument("--stop-at-first", action="store_true")
    parser.add_argument("--show", type=int, default=40, help="failures to print")
    parser.add_argument("--features", action="store_true", help="counts by feature")
    parser.add_argument("--save", type=Path, help="also write the files and their truth into this folder")
    parser.add_argument("--pipeline", action="store_true", help="judge `hoodaudit intake` and `export` on a folder")
    parser.add_argument("--in-process", action="store_true", help="with --pipeline: without the command line")
    options = parser.parse_args(argv)
    whole = 0
    for fault in FAULTS if options.fault == "all" else [options.fault]:
        if options.hard:
            from tests.layouts.hard_cases import hard_cases

            cases: Iterable[tuple[str, Case]] = [(c.name, c) for c in hard_cases()]
        else:
            cases = random_cases(options.count, options.seed, fault)
        if options.save or options.pipeline:
            from tests.layouts import pipeline

            cases = list(cases)
            if options.save:
                pipeline.save(options.save, [c for _, c in cases])
            if options.pipeline:
                whole += pipeline.main([c for _, c in cases], options.show, options.in_process)
                continue
        tally = run(cases, options.stop_at_first, progress=options.count > 400)
        report(tally, options.show, options.features)
        print(f"{fault or ('hard cases' if options.hard else 'sound')}: {tally.summary()}")
        whole += tally.bad
    return 1 if whole else 0


if __name__ == "__main__":
    sys.exit(main())
