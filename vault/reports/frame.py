"""The frame of our pages: self-contained, no script, nothing loaded; prints well."""

from __future__ import annotations

from html import escape

POLICY = "default-src 'none'; style-src 'unsafe-inline'"
STYLE = """
body{font:16px/1.45 Georgia,'Times New Roman',serif;max-width:46rem;margin:2rem auto;padding:0 1rem;color:#222}
h1{font-size:1.5rem;margin-bottom:.2rem}h2{font-size:1.05rem;margin:2rem 0 .4rem;letter-spacing:.04em}
article{border-top:1px solid #999;padding:.7rem 0;break-inside:avoid}
h3{font-size:1.05rem;margin:0 0 .2rem}dl{margin:0;display:grid;grid-template-columns:6rem 1fr;gap:.1rem .6rem}
dt{color:#555}dd{margin:0;overflow-wrap:anywhere}a{color:inherit}footer{margin-top:2rem;color:#555;font-size:.85rem}
@media print{body{margin:0;max-width:none;font-size:11pt}a{text-decoration:none}}
"""


def begin(title: str, style: str = "") -> list[str]:
    """The head of a page, up to its body; `style` is added to the common one."""
    return [
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{escape(title)}</title><style>{STYLE}{style}</style></head><body>",
    ]


def end() -> list[str]:
    """The foot of a page."""
    return [
        "<footer>Made by Pinfold from your own receipts and files. Nothing was sent anywhere.</footer>",
        "</body></html>",
        "",
    ]
