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
_SIZE_RE = re.compile(r"(-?[\d.]{1,8})\s*(px|pt|em|rem|%|)", re.I)
_RGB_RE = re.compile(r"rgba?\(\s*(\d{1,3})[,\s]+(\d{1,3})[,\s]+(\d{1,3})", re.I)
_READ = """display visibility float font-weight text-decoration text-decoration-line font-size color background
background-color opacity max-height height overflow position left top text-indent clip width flex-direction
grid-template-columns mso-hide line-height white-space"""
_USED = frozenset(_READ.split())
_COLOURS = {"white": "ffffff", "black": "000000"}
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
    """A colour as six hex digits, or None where it cannot be told."""
    value = value.strip().lower()
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
    if look.get("opacity") in ("0", "0.0", ".0", "0%"):
        return True
    flat = points(look.get("max-height", "")) == 0 or (
        points(look.get("height", "")) == 0 and look.get("overflow") == "hidden"
    )
    if flat or (points(look.get("width", "")) == 0 and look.get("overflow") == "hidden"):
        return True
    if look.get("position") in ("absolute", "fixed"):
        away = [points(look.get(side, "")) for side in ("left", "top")]
        if any(a is not None and a < -500 for a in away) or "rect(0" in look.get("clip", "").replace(" ", ""):
            return True
    indent = points(look.get("text-indent", ""))
    return indent is not None and indent < -500


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
