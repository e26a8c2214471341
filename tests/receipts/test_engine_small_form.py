"""HTML, plain text and PDF runs in the small form: what shows, in which order, in which cells."""

from __future__ import annotations

import time

import pytest

from vault.receipts.html_page import read_html
from vault.receipts.lines import MAX_LINES, take_links
from vault.receipts.plain import read_plain


def cells(html: str) -> list[list[str]]:
    return [[c.text for c in line.cells] for line in read_html(html).lines if line.text.strip()]


# --- what does not show -------------------------------------------------------------------------

HIDDEN = [
    '<p style="display:none">gone</p>',
    '<p style="display: none !important">gone</p>',
    "<p hidden>gone</p>",
    '<p style="visibility:hidden">gone</p>',
    '<p style="opacity:0">gone</p>',
    '<p style="font-size:0">gone</p>',
    '<p style="font-size:1px;color:#fff">gone</p>',
    '<p style="max-height:0;overflow:hidden">gone</p>',
    '<p style="color:#ffffff;background-color:#ffffff">gone</p>',
    '<div style="background:#fff"><span style="color:white">gone</span></div>',
    '<style>.pre{display:none}</style><p class="pre">gone</p>',
    '<style media="screen">p.pre{display:none}</style><p class="pre">gone</p>',
    "<script>gone</script>",
    "<!-- gone -->",
    "<template>gone</template>",
    '<p style="mso-hide:all;display:none">gone</p>',
    '<p style="color:#fefefe">gone</p>',
    '<p style="color:ivory;background-color:#fff">gone</p>',
    '<p style="color:transparent">gone</p>',
    '<p style="color:rgba(0, 0, 0, 0)">gone</p>',
    '<p style="color:rgb(0 0 0 / 0%)">gone</p>',
    '<p style="color:#33669900">gone</p>',
    '<table bgcolor="navy"><tr><td style="color:navy">gone</td></tr></table>',
    '<p style="font:0/0 a">gone</p>',
    '<p style="font-size:0%">gone</p>',
    '<p style="opacity:0.01">gone</p>',
    '<p style="transform:scale(0)">gone</p>',
    '<p style="clip-path:inset(100%)">gone</p>',
    '<p style="max-width:0;overflow:hidden">gone</p>',
    '<p style="height:1px;width:1px;overflow:hidden">gone</p>',
    '<p style="text-indent:-9999px">gone</p>',
    '<p style="position:absolute;left:-9999px">gone</p>',
    '<div style="display:none"><table><tr><td>gone</td></tr></table></div>',
]


@pytest.mark.parametrize("html", HIDDEN)
def test_what_hides_is_not_read(html: str) -> None:
    assert cells(f"<body>{html}<p>seen</p></body>") == [["seen"]]


@pytest.mark.parametrize(
    "html",
    [
        '<div style="background:#333"><span style="color:#fff">seen</span></div>',
        '<td bgcolor="#222222"><font color="#ffffff">seen</font></td>',
        '<p style="color:#777">seen</p>',
        '<style media="print">p{display:none}</style><p>seen</p>',
        '<p style="font-size:11px">seen</p>',
        '<p style="font:bold 12px/18px serif">seen</p>',
        '<p style="color:rgb(255,255,0)">seen</p>',
        '<p style="transform:scale(0.98);opacity:.9">seen</p>',
        '<p style="overflow:hidden;height:40px;max-width:600px">seen</p>',
        '<td style="background-image:url(a.png)"><p style="color:#ffffff">seen</p></td>',
        '<td style="background:linear-gradient(#123,#456);color:#fff">seen</td>',
    ],
)
def test_what_shows_is_read(html: str) -> None:
    assert "seen" in read_html(f"<body><table><tr>{html}</tr></table></body>").text


def test_struck_prices_are_kept_apart() -> None:
    doc = read_html("<p>Cloche hat <del>8.00</del> <b>6.00</b></p>")
    (piece,) = doc.lines[0].cells[0].pieces
    assert piece.text == "Cloche hat 6.00"
    assert piece.struck == "8.00"
    assert doc.struck == 1


# --- rows ---------------------------------------------------------------------------------------

ROWS = [
    "<table><tr><td>Hat</td><td>1</td><td>6.00</td></tr></table>",
    '<div style="display:flex"><div>Hat</div><div>1</div><div>6.00</div></div>',
    '<style>.r{display:grid;grid-template-columns:repeat(3,1fr)}</style><div class="r"><p>Hat</p><p>1</p><p>6.00</p></div>',
    '<div class="row"><div class="col-6">Hat</div><div class="col-3">1</div><div class="col-3">6.00</div></div>',
    '<div style="display:inline-block">Hat</div><div style="display:inline-block">1</div>'
    '<div style="display:inline-block">6.00</div>',
    "<table><tr><td><table><tr><td>Hat</td></tr></table></td><td><table><tr><td>1</td></tr></table></td><td>6.00</td></tr></table>",
]


@pytest.mark.parametrize("html", ROWS)
def test_ways_to_print_a_row(html: str) -> None:
    assert cells(html) == [["Hat", "1", "6.00"]]


def test_a_definition_list_is_rows_of_two() -> None:
    assert cells("<dl><dt>Order</dt><dd>12</dd><dt>Date</dt><dd>3 May</dd></dl>") == [
        ["Order", "12"],
        ["Date", "3 May"],
    ]


def test_a_layout_table_is_no_row() -> None:
    left = "".join(f"<p>Left {n}</p>" for n in range(20))
    assert cells(f"<table><tr><td>{left}</td><td><p>Right</p></td></tr></table>") == [
        *([f"Left {n}"] for n in range(20)),
        ["Right"],
    ]


def test_printed_lines_of_a_cell_stay_apart() -> None:
    (line,) = read_html("<table><tr><td><b>Hat</b><br>Size M</td><td>6.00</td></tr></table>").lines
    assert [p.text for p in line.cells[0].pieces] == ["Hat", "Size M"]
    assert line.cells[0].pieces[0].bold and not line.cells[0].pieces[1].bold


def test_neighbouring_elements_do_not_run_together() -> None:
    assert cells("<p><span>Total</span><span>£6.00</span></p>") == [["Total £6.00"]]


def test_links_keep_their_words_and_their_place() -> None:
    doc = read_html(
        '<p>Your files: <a href="https://a.example/1"><b>Hat</b> A4</a></p><a href="/2"><img alt="Logo"></a>'
    )
    (link, logo) = doc.links
    assert (link.text, link.url, link.picture) == ("Hat A4", "https://a.example/1", False)
    assert (logo.text, logo.picture) == ("Logo", True)


def test_the_page_says_where_it_was_saved_from() -> None:
    html = "<!-- saved from url=(0031)https://a.example/account/orders -->\n<html><body>x</body></html>"
    assert read_html(html).address == "https://a.example/account/orders"


# --- plain text ---------------------------------------------------------------------------------


def test_columns_of_aligned_text() -> None:
    lines = read_plain(
        "Qty  Item                Price\n1    Cloche hat           6.00\n2    Ribbon, red          3.00\n"
    ).lines
    assert [[c.text for c in line.cells] for line in lines if line.cells] == [
        ["Qty", "Item", "Price"],
        ["1", "Cloche hat", "6.00"],
        ["2", "Ribbon, red", "3.00"],
    ]


def test_dotted_leaders_part_cells() -> None:
    (line,) = [n for n in read_plain("Cloche hat ........ 6.00").lines if n.cells]
    assert line.text.replace("\t", " ").split()[-1] == "6.00"
    assert "..." not in line.text


@pytest.mark.parametrize(
    ("text", "label", "url"),
    [
        ("Download ( https://a.example/1 )", "Download", "https://a.example/1"),
        ("Download <https://a.example/1>", "Download", "https://a.example/1"),
        ("[Download](https://a.example/1)", "Download", "https://a.example/1"),
        ("Hat: https://a.example/1.", "Hat", "https://a.example/1"),
        ("https://a.example/x(1)", "", "https://a.example/x(1)"),
    ],
)
def test_addresses_in_text(text: str, label: str, url: str) -> None:
    _, (link,) = take_links(text)
    assert (link.text, link.url) == (label, url)


# --- bounds -------------------------------------------------------------------------------------

HOSTILE = {
    "deep": "<div>" * 3000 + "x" + "</div>" * 3000,
    "deep tables": "<table><tr><td>" * 400 + "x",
    "many": "<p>x</p>" * 150_000,
    "open tags": "<" * 1_000_000,
    "letters": "a" * 1_000_000,
    "blanks": " " * 1_000_000,
    "digits": "1" * 1_000_000,
    "styles": "<style>" + ".a{color:red}" * 50_000 + "</style><p class='a'>x</p>",
    "one style": f"<p style='{'color:red;' * 50_000}'>x</p>",
    "comments": "<!--" * 100_000,
    "links": "<a href=https://a.example/>" * 20_000 + "x",
    "spans": "<table><tr><td colspan=99999999999999>x</td></tr></table>",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_pages_come_to_an_end(name: str) -> None:
    start = time.process_time()
    doc = read_html(HOSTILE[name])
    assert time.process_time() - start < 10
    assert len(doc.lines) <= MAX_LINES


@pytest.mark.parametrize(
    "text", ["a" * 1_000_000, " " * 1_000_000, "\n" * 300_000, "1 " * 300_000, "http://" * 100_000]
)
def test_hostile_texts_come_to_an_end(text: str) -> None:
    start = time.process_time()
    doc = read_plain(text)
    assert time.process_time() - start < 10
    assert len(doc.lines) <= MAX_LINES
