"""The one table of weights: every piece of evidence for or against a link, what it counts, and its plain words.

Points are on one scale: an exact title inside the document counts 5; a link needs `LINK` points, no stop, and `GAP`
points more than the best other item.  What is marked `stop` by itself rules out an automatic link, whatever else speaks
for it; a word more or less in a title (`LIFTED`) no longer does so where one of `PROOFS` was found.

The numbers are judgement, checked on the gold pairs in fixtures/linking (docs/linking.md): change one there with
`python fixtures/linking/measure.py --set NAME=POINTS` and see what it costs.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LINK = 4.0  # points for an automatic link
ASK = 2.0  # points for a question
GAP = 1.2  # points between the best item and the next for an automatic link
MOST_NEAR = 2  # files that come near a missing item and are told
MOST_ASKED = 5  # candidates in one question


@dataclass(frozen=True, kw_only=True)
class Weight:
    """One kind of evidence.  `words` is a template; `{0}`, `{1}` are filled in with what was found."""

    name: str
    points: float
    words: str
    stop: bool = False


def _w(name: str, points: float, words: str, *, stop: bool = False) -> Weight:
    return Weight(name=name, points=points, words=words, stop=stop)


_TABLE = (
    # Titles, by where they stand
    _w("title in the document", 5.0, "the document is titled “{0}”"),
    _w("title in a heading", 4.7, "a heading in the document reads “{0}”"),
    _w("title in the metadata", 4.5, "the document's metadata say “{0}”"),
    _w("title in the file name", 4.5, "the file name says “{0}”"),
    _w("title on the pages", 4.2, "“{0}” stands on the pages, again and again"),
    _w("title of the folder", 4.0, "the folder is called “{0}”"),
    _w("title of the zip", 4.0, "it came in “{0}”"),
    _w("second place", 1.0, "{0} says the same"),
    # What is not quite the same
    _w("word of the item missing", -3.0, "the file does not say “{0}”", stop=True),
    _w("word aside missing", -1.2, "the file does not say “{0}”"),
    _w("common word missing", -0.8, "the file does not say “{0}”"),
    _w("other word in the document", -3.0, "the document's title also says “{0}”", stop=True),
    _w("common word in the document", -1.5, "the document's title also says “{0}”"),
    _w("other word aside", -1.2, "the document's title adds “{0}”"),
    _w("other word in the name", -2.4, "the file name also says “{0}”", stop=True),
    _w("common word in the name", -1.2, "the file name also says “{0}”"),
    _w("a garment not bought", -1.2, "the file is for a garment that the item does not name, “{0}”", stop=True),
    _w("another colour", -6.0, "the item is {0}, the file {1}", stop=True),
    _w("a word on each side", -1.2, "the item says “{0}” where the file says “{1}”", stop=True),
    _w("name says something else", -2.5, "but its own name says “{0}”"),
    _w("other word in a second name", -0.4, "the file name also says “{0}”"),
    _w("spelled nearly alike", -2.2, "“{0}” is spelled differently", stop=True),
    _w("translated", -0.8, "the title is written in another language"),
    _w("short title", -0.7, "the title is a single word"),
    _w("common title", -2.5, "the title has only words that many patterns have"),
    _w("another title", -2.5, "the document is titled “{0}”", stop=True),
    # Kind, volume, size
    _w("volume agrees", 0.6, "volume {0} on both sides"),
    _w("volume not named", -3.0, "the file does not say that it is volume {0}", stop=True),
    _w("another volume", -6.0, "the file is volume {0}", stop=True),
    _w("a volume", -6.0, "the file is volume {0} of something", stop=True),
    _w("a first volume", -2.4, "the file is volume 1 of something", stop=True),
    _w("another edition in the name", -5.0, "the file name says {0}.0", stop=True),
    _w("a volume in the name", -2.4, "the file name says that it is volume {0} of something", stop=True),
    _w("a number in the name", -1.5, "the file name counts {0}"),
    _w("another month", -6.0, "the file is for another month", stop=True),
    _w("another year", -6.0, "the file says {0}", stop=True),
    _w("another kind", -6.0, "the file is {0}", stop=True),
    _w("kind not named", -6.0, "the file does not say that it is {0}", stop=True),
    _w("another kind in the name", -4.0, "the file name says that it is {0}, the document does not", stop=True),
    _w("style not named", -1.0, "the file does not say that it is {0}", stop=True),
    _w("another style", -1.0, "the file is {0}", stop=True),
    _w("about it", -6.0, "the file is about a pattern, “{0}”", stop=True),
    _w("another garment", -5.0, "the file is for another garment, “{0}”", stop=True),
    _w("free pattern", -1.0, "the file is a free pattern"),
    _w("other sizes in the title", -6.0, "its title or name says {0}", stop=True),
    _w("sizes agree", 0.6, "sizes {0} on both sides"),
    _w("sizes within", 0.3, "its sizes {0} are among those bought"),
    _w("sizes beyond", -0.6, "its sizes {0} go beyond those bought"),
    _w("sizes not named", -0.5, "the file does not say its sizes"),
    _w("other sizes", -6.0, "the file is for sizes {0}", stop=True),
    _w("craft agrees", 0.4, "{0} on both sides"),
    _w("another craft", -4.0, "the file is {0}, the item {1}", stop=True),
    _w("another part", -2.0, "the item is {0}, the file {1}"),
    _w("language agrees", 0.3, "it is in the language that was bought"),
    _w("another language", -1.5, "the file is in another language ({0})", stop=True),
    # Makers
    _w("maker agrees", 1.5, "it is by {0}"),
    _w("maker mentioned", 1.3, "it mentions {0}"),
    _w("maker that you told", 1.2, "you said before that a file by {0} is a pattern of {1}"),
    _w("another maker", -3.0, "it is by {0}", stop=True),
    _w("mentions another maker", -1.5, "it names {0}, of whom you have bought other patterns", stop=True),
    _w("another maker is named", -5.0, "it names {0}, of whom you have bought other patterns, and not {1}", stop=True),
    _w("another maker you know", -5.0, "it is by {0}, of whom you have bought other patterns", stop=True),
    # Orders, codes, links
    _w("stamped for this order", 5.0, "it is stamped with the number of this order, which has no other item"),
    _w("stamped for this order of several", 2.2, "it is stamped with the number of this order"),
    _w("stamped for another order", -5.0, "it is stamped for order {0}", stop=True),
    _w("stamped for someone else", -0.5, "it is stamped for {0}"),
    _w("order number on its pages", 4.5, "the number of this order stands on its pages, and it has no other item"),
    _w("order of several on its pages", 2.2, "the number of this order stands on its pages"),
    _w("order number in the name", 3.0, "the name has the number of this order, which has no other item"),
    _w("order of several in the name", 1.5, "the name has the number of this order"),
    _w("product code", 4.8, "it has the product code {0}"),
    _w("product code of digits", 3.0, "its name has the product code {0}"),
    _w("product code of the folder", 4.2, "the folder has the product code {0}"),
    _w("code that you told", 4.2, "it has the code {0}, as the file that you named has"),
    _w("another product code", -4.0, "it has another product code, {0}", stop=True),
    _w("download link", 6.0, "it was downloaded from the link on the receipt"),
    _w("download link of several", 2.2, "it was downloaded from a link on the receipt that serves several items"),
    _w("seller's site", 0.8, "it was downloaded from the seller's site"),
    _w("another seller's site", -2.0, "it was downloaded from {0}, another seller", stop=True),
    _w("another maker's site", -5.0, "it was downloaded from {0}, another maker's", stop=True),
    _w("another site of the maker", -0.5, "it was downloaded from {0}, where you bought other things"),
    # What lies together
    _w("same zip", 4.2, "it came in one zip with “{0}”"),
    _w("same zip of several", 2.4, "it came in one zip with “{0}”, but the order has other items too"),
    _w("same folder", 2.0, "it lies in one folder with “{0}”"),
    _w("same name", 4.0, "it is named like “{0}”"),
    _w("same content", 6.0, "it has the same content as “{0}”"),
    # Hints
    _w("same day", 2.2, "it was saved on the day of the order, and nothing else tells what it is"),
    _w("perhaps not a pattern", -0.5, "nothing in it shows that it is a pattern", stop=True),
    _w("only a picture", -1.0, "it is a picture", stop=True),
    _w("a zip not opened", -0.5, "it is a zip in which nothing could be read", stop=True),
    _w("nothing shows a pattern", -0.5, "nothing in it shows that it is a pattern", stop=True),
    _w("not a pattern", -3.0, "it does not look like a pattern", stop=True),
    _w("you said so", 9.0, "you said that it is this file"),
)
# Evidence so strong that a word more or less in the title no longer rules out a link.
PROOFS = frozenset(
    {
        "stamped for this order",
        "order number on its pages",
        "download link",
        "product code",
        "same content",
    }
)
LIFTED = frozenset(
    {
        *("word of the item missing", "other word in the document", "other word in the name", "spelled nearly alike"),
        *("a garment not bought", "a word on each side", "style not named"),
        *("mentions another maker", "another seller's site"),
    }
)
# What makes a file another product, however near its title is: the person is told of it, and not asked.
CONTRARY = frozenset(
    {
        *("another volume", "a volume", "another edition in the name", "another month", "another year"),
        *("another kind", "kind not named", "another kind in the name", "another garment", "another colour"),
        *("other sizes in the title", "other sizes", "another craft", "another language", "about it"),
        *("another maker you know", "another maker is named", "another maker's site", "another product code"),
    }
)
WEIGHTS: Mapping[str, Weight] = {w.name: w for w in _TABLE}


def table_markdown(weights: Mapping[str, Weight] = WEIGHTS) -> str:
    """The table as it stands in docs/linking.md."""
    lines = ["| evidence | points | in plain words |", "|---|---:|---|"]
    for w in weights.values():
        points = f"{w.points:+.1f}" + (" stop" if w.stop else "")
        lines.append(f"| {w.name} | {points} | {w.words.replace('{0}', '…').replace('{1}', '…')} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    import sys

    sys.stdout.write(table_markdown())
