"""Axis-parallel rectangles drawn on a page, in mm, however the program drew them.

A square may be one closed path, a `re`, a path of lines that returns to its start without closing, or four separate
strokes (§8.5.2 of ISO 32000-1), alone or with hundreds of other outlines in one path, in a form or under any matrix.
Sub-paths are brought to page millimetres first, so that the matrix does not matter; single strokes that lie along
the axes are collected and put together at the end (`from_strokes`).  Measured on the centre line of the stroke.
"""

from __future__ import annotations

import ctypes
from collections import defaultdict
from itertools import combinations, pairwise
from typing import Any

from vault.model.pdf import DrawnBox
from vault.patterns.pdf_page import Matrix, apply, multiply
from vault.patterns.pdfium import library, matrix_of

SMALLEST_MM, LARGEST_MM = 8.0, 260.0  # a test square is 1 cm to 10 in with every usual shrink
_LINE, _BEZIER, _MOVE = 0, 1, 2
_STRAIGHT_MM = 0.12  # how far a side may stray from its axis
_MEET_MM = 1.5  # how far strokes may fall short of or run over a corner; what counts is where they lie

_OVERRUN_MM = 12.0  # so far lines may run on over a corner where nothing else is drawn that could be meant
_MOST_CROSSING = 8
_CLOSED_MM = 0.6  # how far apart the two ends of one path may lie
_MOST_CORNERS = 40
_AROUND = (-2, -1, 0, 1, 2)

Point = tuple[float, float]
Stroke = tuple[float, float, float]  # place across, from, to


class PathReader:
    """Collects boxes and strokes of one page; stops after `segments` path segments."""

    def __init__(self, to_mm: Matrix, segments: int) -> None:
        self._raw = library()
        self._to_mm = to_mm
        self._left = segments
        self.walked = 0
        self._across: list[Stroke] = []  # y, x0, x1
        self._down: list[Stroke] = []  # x, y0, y1
        self.boxes: list[DrawnBox] = []
        self._x, self._y = ctypes.c_float(), ctypes.c_float()

    def add(self, path: Any, outer: Matrix) -> None:
        """One path object; `outer` leads from its space to user space."""
        raw = self._raw
        count = raw.FPDFPath_CountSegments(path)
        if count < 2 or self._left < count:
            return
        self._left -= count
        self.walked += count
        fill, stroke = ctypes.c_int(), ctypes.c_int()
        raw.FPDFPath_GetDrawMode(path, fill, stroke)
        if not fill.value and not stroke.value:
            return  # only clips
        m = multiply(multiply(matrix_of(path), outer), self._to_mm)
        points: list[Point] = []
        hopeless = False
        x, y = self._x, self._y
        get, kind_of, point_of, closes = (
            raw.FPDFPath_GetPathSegment,
            raw.FPDFPathSegment_GetType,
            raw.FPDFPathSegment_GetPoint,
            raw.FPDFPathSegment_GetClose,
        )
        for index in range(count):
            segment = get(path, index)
            kind = kind_of(segment)
            if kind == _MOVE:
                if points and not hopeless:
                    self._sub_path(points, bool(fill.value), bool(stroke.value))
                points, hopeless = [], False
            hopeless = hopeless or kind == _BEZIER or len(points) > _MOST_CORNERS
            if hopeless:  # a curve or an outline of many corners: on to the next sub-path
                continue
            point_of(segment, x, y)
            points.append(apply(m, x.value, y.value))
            if closes(segment):
                points.append(points[0])
                self._sub_path(points, bool(fill.value), bool(stroke.value))
                points = []
        if points and not hopeless:
            self._sub_path(points, bool(fill.value), bool(stroke.value))

    def _sub_path(self, points: list[Point], filled: bool, stroked: bool) -> None:
        corners = _corners(points)
        box = rectangle(corners)
        if box is not None:
            x, y, width, height = box
            if SMALLEST_MM <= width <= LARGEST_MM and SMALLEST_MM <= height <= LARGEST_MM:
                self.boxes.append(DrawnBox(x=x, y=y, width=width, height=height, filled=filled, stroked=stroked))
            elif filled and not stroked:
                self._thin(x, y, width, height)
            return
        if stroked:
            for (x0, y0), (x1, y1) in pairwise(corners):
                if abs(y0 - y1) <= _STRAIGHT_MM and abs(x0 - x1) >= SMALLEST_MM:
                    self._across.append(((y0 + y1) / 2, min(x0, x1), max(x0, x1)))
                elif abs(x0 - x1) <= _STRAIGHT_MM and abs(y0 - y1) >= SMALLEST_MM:
                    self._down.append(((x0 + x1) / 2, min(y0, y1), max(y0, y1)))

    def _thin(self, x: float, y: float, width: float, height: float) -> None:
        """A line drawn as a filled sliver, as some programs do."""
        if height <= 1.0 and width >= SMALLEST_MM:
            self._across.append((y + height / 2, x + height / 2, x + width - height / 2))
        elif width <= 1.0 and height >= SMALLEST_MM:
            self._down.append((x + width / 2, y + width / 2, y + height - width / 2))

    def found(self) -> tuple[DrawnBox, ...]:
        """Every box of the page, doubles dropped."""
        boxes = self.boxes + from_strokes(self._across, self._down)
        seen: dict[tuple[int, int, int, int], DrawnBox] = {}
        for box in boxes:
            key = (round(box.x * 4), round(box.y * 4), round(box.width * 10), round(box.height * 10))
            seen.setdefault(key, box)
        return tuple(seen.values())


def _corners(points: list[Point]) -> list[Point]:
    """The points without repeats and without points on a straight side."""
    out: list[Point] = []
    for point in points:
        if out and abs(point[0] - out[-1][0]) < 0.01 and abs(point[1] - out[-1][1]) < 0.01:
            continue
        if len(out) >= 2 and _between(out[-2], out[-1], point):
            out[-1] = point
            continue
        out.append(point)
    if len(out) >= 4 and out[0] == out[-1] and _between(out[-2], out[0], out[1]):
        out = [*out[1:-1], out[1]]  # it started in the middle of a side
    return out


def _between(a: Point, b: Point, c: Point) -> bool:
    for axis in (0, 1):
        along = 1 - axis
        if abs(a[axis] - b[axis]) < _STRAIGHT_MM and abs(b[axis] - c[axis]) < _STRAIGHT_MM:
            return (b[along] - a[along]) * (c[along] - b[along]) > 0
    return False


def rectangle(corners: list[Point]) -> tuple[float, float, float, float] | None:
    """x, y, width, height of an axis-parallel rectangle given by its corners, the first one repeated at the end."""
    if len(corners) != 5 or not _same(corners[0], corners[4]):
        return None
    (x0, y0), (x1, y1), (x2, y2), (x3, y3), _ = corners
    level_first = (y0 - y1, x1 - x2, y2 - y3, x3 - x0)
    upright_first = (x0 - x1, y1 - y2, x2 - x3, y3 - y0)
    if not any(all(abs(stray) <= _STRAIGHT_MM for stray in sides) for sides in (level_first, upright_first)):
        return None
    width = (abs(x0 - x2) + abs(x1 - x3)) / 2
    height = (abs(y0 - y2) + abs(y1 - y3)) / 2
    return min(x0, x1, x2, x3), min(y0, y1, y2, y3), width, height


def _same(a: Point, b: Point) -> bool:
    return abs(a[0] - b[0]) <= _CLOSED_MM and abs(a[1] - b[1]) <= _CLOSED_MM


def from_strokes(across: list[Stroke], down: list[Stroke]) -> list[DrawnBox]:
    """Boxes made of four separate strokes: two level ones of one length, two upright ones that join their ends."""
    by_span: dict[tuple[int, int], list[Stroke]] = defaultdict(list)
    for stroke in across:
        if SMALLEST_MM <= stroke[2] - stroke[1] <= LARGEST_MM:
            by_span[(round(stroke[1]), round(stroke[2]))].append(stroke)
    sides: dict[int, list[Stroke]] = defaultdict(list)
    for stroke in down:
        sides[round(stroke[0])].append(stroke)
    boxes: list[DrawnBox] = []
    for (start, end), _ in list(by_span.items()):
        level = sorted({s for a in _AROUND for b in _AROUND for s in by_span.get((start + a, end + b), ())})
        if not 2 <= len(level) <= 40:
            continue
        for i, top in enumerate(level):
            for bottom in level[i + 1 :]:
                box = _closed(top, bottom, sides)
                if box is not None:
                    boxes.append(box)
    return boxes or _crossing(across, down)


def _crossing(across: list[Stroke], down: list[Stroke]) -> list[DrawnBox]:
    """Squares of two level and two upright strokes that run on over the corners, as they are drawn by hand.

    A grid has many such: with more than a few strokes none is taken.
    """
    level, upright = (
        sorted(s for s in strokes if SMALLEST_MM <= s[2] - s[1] <= LARGEST_MM + 2 * _OVERRUN_MM)
        for strokes in (across, down)
    )
    if not 2 <= len(level) <= _MOST_CROSSING or not 2 <= len(upright) <= _MOST_CROSSING:
        return []
    boxes = []
    for (y0, *top), (y1, *bottom) in combinations(level, 2):
        for (x0, *left), (x1, *right) in combinations(upright, 2):
            width, height = x1 - x0, y1 - y0
            if width < SMALLEST_MM or abs(width - height) > 0.04 * width:
                continue
            ends = [x0 - side[0] for side in (top, bottom)] + [side[1] - x1 for side in (top, bottom)]
            ends += [y0 - side[0] for side in (left, right)] + [side[1] - y1 for side in (left, right)]
            if all(-_MEET_MM <= end <= _OVERRUN_MM for end in ends):
                boxes.append(DrawnBox(x=x0, y=y0, width=width, height=height))
    return boxes


def _closed(top: Stroke, bottom: Stroke, sides: dict[int, list[Stroke]]) -> DrawnBox | None:
    height = bottom[0] - top[0]
    if not SMALLEST_MM <= height <= LARGEST_MM:
        return None
    if abs(top[1] - bottom[1]) > _MEET_MM or abs(top[2] - bottom[2]) > _MEET_MM:
        return None
    found: list[float] = []
    for place in ((top[1] + bottom[1]) / 2, (top[2] + bottom[2]) / 2):
        near = [
            s[0]
            for step in _AROUND
            for s in sides.get(round(place) + step, ())
            if abs(s[0] - place) <= _MEET_MM and abs(s[1] - top[0]) <= _MEET_MM and abs(s[2] - bottom[0]) <= _MEET_MM
        ]
        if not near:
            return None
        found.append(min(near, key=lambda x: abs(x - place)))
    return DrawnBox(x=found[0], y=top[0], width=found[1] - found[0], height=height)
