"""The rooms of the house and the one direction in which imports may run, read from the code's own imports."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# What each room may import, itself apart. Longest matching name wins; the order is from the ground up.
MAY_IMPORT: dict[str, set[str]] = {
    "auditor": set(),
    "auditor.codes": {"auditor"},
    "auditor.workbook": {"auditor"},
    "auditor.sheets": {"auditor", "auditor.workbook"},
    "auditor.survey": {"auditor"},
    "auditor.criteria": {"auditor", "auditor.survey"},
    "auditor.history": {"auditor", "auditor.survey"},
    "expectations": {"auditor", "auditor.codes", "auditor.survey"},
    "auditor.store": {"auditor", "auditor.survey"},
    "auditor.documents": {"auditor", "auditor.codes", "auditor.workbook"},
    "auditor.register_file": {"auditor", "auditor.workbook", "auditor.survey"},
    "auditor.stacking": {"auditor", "auditor.codes", "auditor.sheets", "auditor.survey", "auditor.workbook"},
    "auditor.audit": {
        "auditor", "auditor.codes", "auditor.survey", "auditor.criteria", "auditor.history", "expectations",
    },
    "auditor.reading": {"auditor", "auditor.codes", "auditor.workbook", "auditor.sheets", "auditor.stacking"},
    "auditor.signs": {"auditor", "auditor.audit", "auditor.survey", "auditor.history", "auditor.store"},
    "auditor.__main__": {"auditor", "auditor.cli"},
    "auditor.answers": {
        "auditor", "auditor.codes", "auditor.survey", "auditor.criteria", "auditor.history", "auditor.store",
        "auditor.workbook", "auditor.documents",
    },
    "auditor.intake": {
        "auditor", "auditor.codes", "auditor.workbook", "auditor.sheets", "auditor.survey", "auditor.criteria",
        "auditor.history", "expectations", "auditor.store", "auditor.register_file", "auditor.stacking",
        "auditor.audit", "auditor.reading", "auditor.files", "auditor.decisions", "auditor.signs", "auditor.teaching",
    },
    "auditor.files": {"auditor"},
    "auditor.decisions": {"auditor", "auditor.sheets"},
    "auditor.teaching": {
        "auditor", "auditor.workbook", "auditor.sheets", "auditor.survey", "auditor.store", "auditor.stacking",
        "auditor.reading", "auditor.decisions",
    },
    "auditor.demo": {"auditor", "auditor.audit", "auditor.files", "auditor.intake", "auditor.store"},
    "auditor.account": {"auditor", "auditor.codes"},
    "auditor.cli": {
        "auditor", "auditor.codes", "auditor.workbook", "auditor.sheets", "auditor.criteria", "auditor.store",
        "auditor.documents", "auditor.register_file", "auditor.answers", "auditor.intake", "auditor.demo",
        "auditor.account", "auditor.reading", "auditor.audit", "auditor.files", "auditor.teaching",
    },
    "dashboard": {"auditor", "auditor.answers", "auditor.codes", "auditor.documents"},
}  # fmt: skip


def room_of(module: str) -> str | None:
    names = [room for room in MAY_IMPORT if module == room or module.startswith(room + ".")]
    return max(names, key=len) if names else None


def modules() -> list[tuple[str, Path]]:
    found = []
    for package in ("auditor", "dashboard", "expectations"):
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found.append((".".join(parts[:-1] if parts[-1] == "__init__" else parts), path))
    return found


def imports(path: Path, module: str) -> set[str]:
    package = module if path.name == "__init__.py" else module.rpartition(".")[0]
    out: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            out |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join(above + ([base] if base else []))
            out |= {f"{base}.{alias.name}" for alias in node.names}
    return out


@pytest.mark.parametrize(("module", "path"), modules(), ids=[name for name, _ in modules()])
def test_imports_run_one_way(module: str, path: Path) -> None:
    room = room_of(module)
    assert room is not None
    for name in imports(path, module):
        target = room_of(name)
        if target is None or target == room:
            continue
        assert target in MAY_IMPORT[room], f"{module} imports {name}: {room} may not look into {target}"


def test_no_room_is_below_itself() -> None:
    """The table itself has no circle, so that 'one way' means something."""
    left = {room: set(below) - {room} for room, below in MAY_IMPORT.items()}
    while left:
        free = [room for room, below in left.items() if not below & set(left)]
        assert free, f"a circle among {sorted(left)}"
        for room in free:
            del left[room]


def test_only_the_workbook_room_and_documents_touch_openpyxl() -> None:
    for module, path in modules():
        if any(name.split(".")[0] == "openpyxl" for name in imports(path, module)):
            assert room_of(module) in {"auditor.workbook", "auditor.documents"}, module
