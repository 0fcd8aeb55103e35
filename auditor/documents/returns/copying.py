"""A workbook's marked copy, made by adding to its parts."""

from __future__ import annotations

from collections.abc import Sequence

from auditor.documents.returns.book_part import BookPart
from auditor.documents.returns.comments import Comments, blocks_of, empty_comments, new_drawing, texts, with_shapes
from auditor.documents.returns.list_part import lines_of, list_part
from auditor.documents.returns.looks import Styles, empty_styles
from auditor.documents.returns.model import About, Point, area, clean
from auditor.documents.returns.package import CannotMark, Package
from auditor.documents.returns.sheet_part import SheetPart
from auditor.workbook.cells import Unreadable, a1
from auditor.workbook.own_sheet import is_own_list

MOST_COMMENTS = 900  # on one sheet: a drawing has 1,023 shape numbers in a block
_TYPE = "application/vnd.openxmlformats-officedocument"
_MAIN_TYPE = f"{_TYPE}.spreadsheetml"


def marked_copy(data: bytes, points: Sequence[Point], about: About) -> bytes:
    """The workbook (.xlsx, .xlsm) with its points marked, commented and listed. Parts that are not named by a point,
    and everything in those that are but for what is added, stay as they were.

    Raises CannotMark where the file is of another kind or its parts cannot be marked: then the points go back in a
    workbook of their own (`list_workbook`)."""
    try:
        package = Package(data)
        book = BookPart(package)
        styles, style_part = _styles(package, book)
        earlier = _earlier_list(data, book)
        parts = _selected(package, book)
        marks, by_sheet = styles.marks() if earlier else frozenset(), _by_sheet(points)
        for name, part in book.sheets.items():
            if name == earlier or (name not in by_sheet and not earlier):
                continue
            sheet = parts.setdefault(part, SheetPart(package.tree(part), book.relation_ns))
            spots = _mark_sheet(package, book, part, sheet, by_sheet.get(name, []), styles)
            if earlier:
                sheet.settle(marks, spots, styles)
                _settle_comments(package, part, {a1(*spot) for spot in spots})
        _put_list(package, book, points, about, styles, earlier, parts)
        for part, sheet_part in parts.items():
            package.write(part, sheet_part.root)
        package.write(style_part, styles.root)
        book.write()
        return package.packed()
    except Unreadable as trouble:
        raise CannotMark(trouble.detail) from trouble
    except (ValueError, KeyError) as trouble:
        raise CannotMark(f"its parts are not as they should be ({clean(trouble, 120)})") from trouble


def _by_sheet(points: Sequence[Point]) -> dict[str, list[Point]]:
    """The points that name a cell, by the sheet that it is on."""
    found: dict[str, list[Point]] = {}
    for point in points:
        if area(point.cell):
            found.setdefault(point.sheet, []).append(point)
    return found


def _styles(package: Package, book: BookPart) -> tuple[Styles, str]:
    part = book.related_part("/styles")
    if part and part in package:
        return Styles(package.tree(part)), part
    usual = "xl/styles.xml"  # some programs look for it there and nowhere else
    part = package.free_name("xl/styles{}.xml") if usual in package else usual
    package.write(part, empty_styles(book.ns))
    package.relate(book.part, f"{book.relation_ns}/styles", part)
    package.declare(part, f"{_MAIN_TYPE}.styles+xml")
    return Styles(package.tree(part)), part


def _selected(package: Package, book: BookPart) -> dict[str, SheetPart]:
    """The sheets that were selected when the workbook was saved, no longer so: part -> sheet."""
    found = {}
    for part in book.sheets.values():
        if b"tabSelected" in package.read(part):
            sheet = SheetPart(package.tree(part), book.relation_ns)
            if sheet.unselect():
                found[part] = sheet
    return found


def _mark_sheet(
    package: Package, book: BookPart, part: str, sheet: SheetPart, points: Sequence[Point], styles: Styles
) -> set[tuple[int, int]]:
    """Colours the cells of the points (the graver severity wins), hangs a comment on the first of each; those cells."""
    colours: dict[tuple[int, int], str] = {}
    said: dict[tuple[int, int], list[str]] = {}
    for point in sorted(points, key=lambda p: p.severity != "hold"):
        place = area(point.cell)
        if place is None:
            continue
        spots = sheet.shown(place)
        for spot in spots:
            colours.setdefault(spot, point.severity)
        said.setdefault(spots[0], []).append(comment_text(point))
    for (row, column), severity in colours.items():
        sheet.mark(row, column, severity, styles)
    some = sorted(said)[:MOST_COMMENTS]
    if some:
        _comment(package, book, part, sheet, {spot: "\n\n".join(said[spot]) for spot in some})
    return set(colours)


def comment_text(point: Point) -> str:
    where = f" ({point.cell})" if ":" in point.cell else ""
    return f"{point.title}{where}\n{point.message}\n{texts()['remedy']}{point.remedy}"


def _comment(package: Package, book: BookPart, part: str, sheet: SheetPart, said: dict[tuple[int, int], str]) -> None:
    """Adds the comments to the sheet's part of them and the shapes to its drawing; makes either where it is missing."""
    related = package.relations(part)
    found = next((target for kind, target in related.values() if kind.endswith("/comments") and target in package), "")
    comments = Comments(package.tree(found) if found else empty_comments(book.ns))
    fresh = [spot for spot in said if comments.add(*spot, said[spot])]
    if not found:
        found = package.free_name("xl/comments{}.xml")
        package.relate(part, f"{book.relation_ns}/comments", found)
        package.declare(found, f"{_MAIN_TYPE}.comments+xml")
    package.write(found, comments.root)
    if not fresh:
        return
    drawing = related.get(sheet.legacy, ("", ""))[1]
    if drawing and drawing in package:
        package.write(drawing, with_shapes(package.read(drawing), fresh))
        return
    drawing = package.free_name("xl/drawings/vmlDrawing{}.vml")
    package.write(drawing, with_shapes(new_drawing(_free_block(package)), fresh))
    package.declare(drawing, f"{_TYPE}.vmlDrawing")
    sheet.hang(package.relate(part, f"{book.relation_ns}/vmlDrawing", drawing))


def _settle_comments(package: Package, part: str, still: set[str]) -> None:
    for kind, target in package.relations(part).values():
        if kind.endswith("/comments") and target in package:
            comments = Comments(package.tree(target))
            if comments.settle(still):
                package.write(target, comments.root)


def _free_block(package: Package) -> int:
    """A block of shape numbers that no drawing of the workbook has."""
    taken: set[int] = set()
    for name in package.names():
        if name.endswith(".vml"):
            taken |= blocks_of(package.read(name))
    return max(taken, default=0) + 1


def _put_list(
    package: Package, book: BookPart, points: Sequence[Point], about: About, styles: Styles, earlier: str,
    parts: dict[str, SheetPart],
) -> None:  # fmt: skip
    """The list as the first sheet; where the workbook brings one along from an earlier return, in its place."""
    lines = lines_of(points, book.names)
    if earlier:
        part = book.sheets[earlier]
        parts.pop(part, None)
        package.write(part, list_part(about, lines, styles, book.ns))
        book.open_at(book.names.index(earlier))
        return
    part = package.free_name("xl/worksheets/sheet{}.xml")
    package.write(part, list_part(about, lines, styles, book.ns))
    package.declare(part, f"{_MAIN_TYPE}.worksheet+xml")
    book.put_first(book.free_sheet_name(), part)


def _earlier_list(data: bytes, book: BookPart) -> str:
    """The name of the list of an earlier return, '' where the workbook has none."""
    from auditor.workbook import read_workbook
    from auditor.workbook.own_sheet import NAME

    if not any(name.lower().startswith(NAME.lower()) for name in book.sheets):
        return ""
    return next(
        (s.name for s in read_workbook(data, "copy.xlsx").sheets if is_own_list(s) and s.name in book.sheets), ""
    )


__all__ = ["CannotMark", "comment_text", "marked_copy"]
