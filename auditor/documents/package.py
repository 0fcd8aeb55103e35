"""All tables as a data package: csv files and a datapackage.json by the Frictionless Data Package standard."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pandas as pd

from auditor.documents.tables import write_table

DESCRIPTOR = "datapackage.json"


@lru_cache(maxsize=1)
def words() -> dict[str, Any]:
    return tomllib.loads(files("auditor.documents").joinpath("package.toml").read_text(encoding="utf-8"))


def write_package(tables: Iterable[tuple[str, pd.DataFrame]], folder: Path, about: Mapping[str, Any]) -> list[Path]:
    """Writes each table as NAME.csv and then the descriptor, which therefore never speaks of a table that is not there;
    one table at a time is in memory. `about`: further properties of the package, such as what it stands on. Returns the
    files written. The same tables give the same bytes."""
    (folder / DESCRIPTOR).unlink(missing_ok=True)
    resources, written = [], []
    for name, frame in tables:
        path = folder / f"{name}.csv"
        write_table(frame, path, "csv")
        resources.append(resource(name, frame) | _sum(path))
        written.append(path)
    text = json.dumps(descriptor(resources, about), ensure_ascii=False, indent=1) + "\n"
    (folder / DESCRIPTOR).write_text(text, encoding="utf-8")
    return [*written, folder / DESCRIPTOR]


def descriptor(resources: list[dict[str, Any]], about: Mapping[str, Any]) -> dict[str, Any]:
    """The package's description. References to a table that is not among the resources are left out."""
    present = {one["name"] for one in resources}
    for one in resources:
        keys = [k for k in one["schema"].get("foreignKeys", []) if k["reference"]["resource"] in present]
        one["schema"].pop("foreignKeys", None)
        if keys:
            one["schema"]["foreignKeys"] = keys
    said = {"title": words()["title"], "description": words()["description"]}
    return {"profile": "tabular-data-package", "name": "fume-hood-surveys", **said, **about, "resources": resources}


def resource(name: str, frame: pd.DataFrame) -> dict[str, Any]:
    """A table's description: its columns with type and meaning, its key, and which columns refer to other tables."""
    told = words()["tables"].get(name, {})
    schema: dict[str, Any] = {
        "fields": [_field(name, str(column), frame[column]) for column in frame.columns],
        "missingValues": [""],
    }
    if told.get("key"):
        schema["primaryKey"] = told["key"]
    if told.get("refers"):
        schema["foreignKeys"] = [
            {"fields": [column], "reference": {"resource": other, "fields": [key]}}
            for column, (other, key) in told["refers"].items()
            if column in frame
        ]
    return {
        "name": name, "title": told.get("title", name), "path": f"{name}.csv", "profile": "tabular-data-resource",
        "format": "csv", "mediatype": "text/csv", "encoding": "utf-8", "schema": schema,
    }  # fmt: skip


def meaning(table: str, column: str) -> str:
    """What a column of a table is; '' where nothing is said of it."""
    own = words()["tables"].get(table, {}).get("columns", {})
    return own.get(column) or words()["columns"].get(column, "")


def _field(table: str, column: str, values: pd.Series) -> dict[str, Any]:
    made: dict[str, Any] = {"name": column, "type": _type(column, values), "description": meaning(table, column)}
    told = words()["tables"].get(table, {})
    constraints: dict[str, Any] = {}
    among = told.get("enums", {}).get(column) or words()["enums"].get(column)
    if among:
        constraints["enum"] = among
    if column in told.get("key", []):
        constraints["required"] = True
    return made | ({"constraints": constraints} if constraints else {})


def _type(column: str, values: pd.Series) -> str:
    kind = values.dtype
    if pd.api.types.is_bool_dtype(kind):
        return "boolean"
    if pd.api.types.is_datetime64_any_dtype(kind):
        return "date"
    if pd.api.types.is_integer_dtype(kind):
        return "integer"
    if pd.api.types.is_float_dtype(kind):
        return "number"
    return "datetime" if column.endswith("_at") else "string"


def _sum(path: Path) -> dict[str, Any]:
    digest, size = hashlib.sha256(), 0
    with path.open("rb") as stream:
        while block := stream.read(1 << 20):
            digest.update(block)
            size += len(block)
    return {"bytes": size, "hash": f"sha256:{digest.hexdigest()}"}
