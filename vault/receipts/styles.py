"""What a page's looks say about its structure: what hides, what stands side by side, what is bold or struck out.

Only the little of CSS that mails and saved pages use for that: inline styles and simple selectors (`.name`, `#name`,
`tag`, `tag.name`) outside media queries.  Nothing is loaded.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache

MAX_CSS = 400_000

_COMMENT_RE = re.compile(r"/\*.{0,20000}?\*/", re.S)
_RULE_RE = re.compile(r"([^{}@;]{1,2000})\{([^{}]{0,4000})\}")
_SELECTOR_RE = re.compile(r"(?:[a-z][a-z0-9]*)?(?:[.#][\w-]+)?\Z", re.I)
CLEAR = "clear"  # stands for a colour that lets everything through

_SIZE_RE = re.compile(r"(-?[\d.]{1,8})\s*(px|pt|em|rem|%|)", re.I)
_RGB_RE = re.compile(r"rgba?\(\s*(\d{1,3})[,\s]+(\d{1,3})[,\s]+(\d{1,3})", re.I)
_READ = """display visibility float font-weight text-decoration text-decoration-line font-size color background
background-color opacity max-height height overflow position left top text-indent clip width flex-direction
grid-template-columns mso-hide line-height white-space font background-image clip-path transform max-width"""
_USED = frozenset(_READ.split())
# CSS Color 4, section 6.1: the names that ground and text have in mails, and those that are nearly white.
_COLOURS = {
    "white": "ffffff",
    "black": "000000",
    "silver": "c0c0c0",
    "gray": "808080",
    "grey": "808080",
    "red": "ff0000",
    "maroon": "800000",
    "yellow": "ffff00",
    "olive": "808000",
    "lime": "00ff00",
    "green": "008000",
    "aqua": "00ffff",
    "teal": "008080",
    "blue": "0000ff",
    "navy": "000080",
    "fuchsia": "ff00ff",
    "purple": "800080",
    "orange": "ffa500",
    "pink": "ffc0cb",
    "beige": "f5f5dc",
    "ivory": "fffff0",
    "snow": "fffafa",
    "whitesmoke": "f5f5f5",
    "ghostwhite": "f8f8ff",
    "lightgray": "d3d3d3",
    "lightgrey": "d3d3d3",
    "transparent": CLEAR,
}
_NO_ALPHA = r"\s*(?:0|0?\.0\d{0,4}|[0-4](?:\.\d{0,4})?%)\s*\)"
_ALPHA_RE = re.compile(rf"(?:rgb|hsl)a?\((?:(?:[^(),/]{{1,20}},){{3}}|[^()/]{{1,50}}/){_NO_ALPHA}", re.I)
_HEX_ALPHA_RE = re.compile(r"#(?:[0-9a-f]{6}0[0-9a-f]|[0-9a-f]{3}0)\Z", re.I)
_FONT_SIZE_RE = re.compile(r"(?<![\w.%-])(\d{1,4}(?:\.\d{1,4})?|\.\d{1,4})(px|pt|em|rem|%|)(?=[\s/]|\Z)", re.I)
_SHRUNK_RE = re.compile(r"scale(?:x|y|3d)?\(\s*0\s*[,)]", re.I)
_NEAR = 16  # of 255: colours that differ less are one to the eye
_COUNT_RE = re.compile(r"repeat\(\s*(\d{1,2})")


@lru_cache(maxsize=4096)
def declarations(style: str) -> dict[str, str]:
    """The properties of an inline style that matter here, names and values in lower case."""
    out: dict[str, str] = {}
    for part in style[:4000].split(";"):
        name, colon, value = part.partition(":")
        name = name.strip().lower()
        if colon and name in _USED:
            out[name] = value.replace("!important", "").strip().lower()
    return out


@lru_cache(maxsize=2048)
def colour(value: str) -> str | None:
    """A colour as six hex digits, `CLEAR` for one that does not cover, or None where it cannot be told."""
    value = value.strip().lower()
    if _ALPHA_RE.match(value) or _HEX_ALPHA_RE.match(value):
        return CLEAR
    word = value.split()[0] if value else ""
    if word in _COLOURS:
        return _COLOURS[word]
    rgb = _RGB_RE.search(value)
    if rgb:
        return "".join(f"{min(255, int(c)):02x}" for c in rgb.groups())
    word = word.removeprefix("#")
    if re.fullmatch(r"[0-9a-f]{6}", word):
        return word
    if re.fullmatch(r"[0-9a-f]{3}", word):
        return "".join(c * 2 for c in word)
    return None


@lru_cache(maxsize=1024)
def points(value: str) -> float | None:
    """A length in pixels or so; None for words and percentages."""
    match = _SIZE_RE.match(value.strip())
    if match is None or match.group(2) == "%":
        return None
    try:
        number = float(match.group(1))
    except ValueError:
        return None
    return number * {"em": 16, "rem": 16, "pt": 1.33}.get(match.group(2).lower(), 1)


def same_to_the_eye(one: str, other: str) -> bool:
    """Whether two colours of six hex digits cannot be told apart."""
    pairs = (one[k : k + 2] for k in (0, 2, 4)), (other[k : k + 2] for k in (0, 2, 4))
    return one == other or (
        CLEAR not in (one, other) and all(abs(int(a, 16) - int(b, 16)) < _NEAR for a, b in zip(*pairs, strict=True))
    )


def font_size(look: dict[str, str]) -> float | None:
    """The size of the letters in pixels or so, where the element says it."""
    value = look.get("font-size")
    if value is None and (found := _FONT_SIZE_RE.search(look.get("font", ""))):
        if found.group(2) == "" and float(found.group(1)) > 0:
            return None  # a weight
        value = found.group()
    if value is None:
        return None
    if value.endswith("%"):
        return 0.0 if points(value[:-1]) == 0 else None
    return points(value)


@dataclass(slots=True)
class Sheet:
    """The simple rules of a page's style sheets."""

    rules: dict[str, dict[str, str]] = field(default_factory=dict)

    def add(self, css: str) -> None:
        """Take in the text of a style element."""
        css = _without_media(_COMMENT_RE.sub("", css[:MAX_CSS]))
        for match in _RULE_RE.finditer(css):
            found = declarations(match.group(2))
            if not found:
                continue
            for selector in match.group(1).split(","):
                selector = selector.strip().lower()
                if selector and _SELECTOR_RE.match(selector) and len(self.rules) < 5000:
                    self.rules[selector] = {**self.rules.get(selector, {}), **found}

    def look(self, tag: str, attributes: dict[str, str | None]) -> dict[str, str]:
        """The properties of an element: of its tag, its classes, its id and its own style, later ones winning."""
        style = attributes.get("style")
        if not self.rules:
            return declarations(style) if style else {}
        out = dict(self.rules.get(tag, {}))
        for name in (attributes.get("class") or "").lower().split()[:20]:
            out |= self.rules.get("." + name, {})
            out |= self.rules.get(f"{tag}.{name}", {})
        if attributes.get("id"):
            out |= self.rules.get("#" + str(attributes["id"]).lower(), {})
        if style:
            out |= declarations(style)
        return out


def _without_media(css: str) -> str:
    """The sheet without its @-blocks, which hold for other screens."""
    if "@" not in css:
        return css
    out: list[str] = []
    depth, skipping, at = 0, 0, 0
    for match in re.finditer(r"@(?:media|supports|font-face|keyframes|-webkit-keyframes|page)|[{}]", css):
        sign = match.group()
        if sign == "{":
            depth += 1
        elif sign == "}":
            depth = max(0, depth - 1)
            if skipping and depth < skipping:
                skipping, at = 0, match.end()
        elif not skipping:
            out.append(css[at : match.start()])
            skipping = depth + 1
    if not skipping:
        out.append(css[at:])
    return "".join(out)


def hides(look: dict[str, str], attributes: dict[str, str | None]) -> bool:
    """Whether an element with these properties does not show at all."""
    if "hidden" in attributes:
        return True
    if not look:
        return False
    if look.get("display") == "none" or look.get("visibility") in ("hidden", "collapse"):
        return True
    if _is_nothing(look.get("opacity", ""), 0.05) or _SHRUNK_RE.match(look.get("transform", "")):
        return True
    if look.get("clip-path", "").replace(" ", "").startswith(("inset(100%", "inset(50%", "circle(0")):
        return True
    if _is_nothing(look.get("max-height", ""), 0.01):
        return True
    if look.get("overflow") == "hidden" and any(
        _is_nothing(look.get(side, ""), 1.01) for side in ("height", "width", "max-width")
    ):
        return True
    if look.get("position") in ("absolute", "fixed"):
        away = [points(look.get(side, "")) for side in ("left", "top")]
        if any(a is not None and a < -500 for a in away) or "rect(0" in look.get("clip", "").replace(" ", ""):
            return True
    indent = points(look.get("text-indent", ""))
    return indent is not None and indent < -500


def _is_nothing(value: str, least: float) -> bool:
    """Whether a length or a share is printed and less than `least`."""
    number = points(value.rstrip("%")) if value else None
    return number is not None and abs(number) < least


def side_by_side(look: dict[str, str]) -> bool:
    """Whether an element stands beside its neighbours."""
    return look.get("display") in ("inline-block", "table-cell", "inline-table") or look.get("float") in (
        "left",
        "right",
    )


def columns(look: dict[str, str]) -> int:
    """How an element lays out its children: 0 below each other, -1 all in one row, n in rows of n."""
    display = look.get("display", "")
    if display in ("flex", "inline-flex"):
        return 0 if look.get("flex-direction", "").startswith("column") else -1
    if display in ("grid", "inline-grid"):
        tracks = look.get("grid-template-columns", "")
        if not tracks:
            return 0
        count = _COUNT_RE.search(tracks)
        if count:
            return int(count.group(1)) if int(count.group(1)) > 1 else 0
        number = len(re.sub(r"\([^()]{0,100}\)", "", tracks).split())
        return number if number > 1 else 0
    if display == "table-row":
        return -1
    return 0
