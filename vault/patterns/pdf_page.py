"""From the page description's user space to millimetres as a viewer shows the page.

ISO 32000-1 §8.3.2.3 (user space, UserUnit), §14.11.2 (page boundaries), table 30 (Rotate, clockwise, inheritable).
pdfium knows CropBox and Rotate but ignores UserUnit, so that factor is applied here.
"""

from __future__ import annotations

from dataclasses import dataclass

MM_PER_POINT = 25.4 / 72

Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def multiply(first: Matrix, then: Matrix) -> Matrix:
    """The matrix that applies `first`, then `then` (row vectors, as the standard writes them)."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def apply(m: Matrix, x: float, y: float) -> tuple[float, float]:
    """The point (x, y) after the matrix."""
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


@dataclass(frozen=True, kw_only=True)
class PageFrame:
    """The visible box of a page in user space (left, bottom, right, top), its rotation and its unit."""

    left: float
    bottom: float
    right: float
    top: float
    rotate: int = 0  # 0, 90, 180, 270, clockwise
    user_unit: float = 1.0

    @property
    def scale(self) -> float:
        """Millimetres per unit of user space."""
        return MM_PER_POINT * self.user_unit

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height as shown, mm."""
        width, height = (self.right - self.left) * self.scale, (self.top - self.bottom) * self.scale
        return (height, width) if self.rotate in (90, 270) else (width, height)

    @property
    def to_mm(self) -> Matrix:
        """User space to millimetres from the top left corner of the shown page, y downwards."""
        k = self.scale
        if self.rotate == 90:
            return (0.0, k, k, 0.0, -self.bottom * k, -self.left * k)
        if self.rotate == 180:
            return (-k, 0.0, 0.0, k, self.right * k, -self.bottom * k)
        if self.rotate == 270:
            return (0.0, -k, -k, 0.0, self.top * k, self.right * k)
        return (k, 0.0, 0.0, -k, -self.left * k, self.top * k)
