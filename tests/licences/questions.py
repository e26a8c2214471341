"""Questions on licences, answered by hand from the words: what a careful reader would say, and no more.

Wordings are common practice, no published source; all texts are invented.  `expected` is the answer, the limit, its
period, whether the count asked for stays within it, and whether credit is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from vault.intake.terms import read_terms
from vault.language import detect
from vault.licences.clauses import clauses_of
from vault.licences.may import may
from vault.model.licence import Act, LicenceUse, MayAnswer, TermsPlace, TermsSeen, UseKind
from vault.model.pattern import LicenceTerms

DAY = date(2026, 11, 25)
BOUGHT = date(2026, 3, 1)
Expected = tuple[str, int | None, str | None, bool | None, bool]


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question: sources as (text, day seen, granted), what was sold already, and the right answer."""

    id: str
    act: Act
    texts: tuple[tuple[str, date, bool], ...]
    expected: Expected
    count: int | None = None
    sold: tuple[tuple[int, date], ...] = ()


def source(text: str, seen_on: date = BOUGHT, *, granted: bool = False, until: date | None = None) -> TermsSeen:
    """A file that says `text`."""
    language = detect(text)
    terms = read_terms(text, language)
    return TermsSeen(
        id=text[:20],
        place=TermsPlace.FILE if not granted else TermsPlace.TEXT,
        name="terms",
        sha256=None,
        seen_on=seen_on,
        terms=terms or LicenceTerms(),
        clauses=clauses_of(terms, text, read_terms, language=language),
        credit=terms.credit_required if terms else None,
        granted=granted,
        until=until,
    )


def answer(q: Question) -> MayAnswer:
    """What Pinfold answers."""
    uses = [
        LicenceUse(id=str(n), item_id="i", kind=UseKind.SOLD, count=count, on=on)
        for n, (count, on) in enumerate(q.sold)
    ]
    sources = [source(text, seen, granted=granted) for text, seen, granted in q.texts]
    return may(q.act, sources, uses, count=q.count, bought_on=BOUGHT, day=DAY)


def _q(
    id: str,  # noqa: A002
    act: str,
    text: str | tuple[tuple[str, date, bool], ...],
    ruling: str,
    limit: int | None = None,
    per: str | None = None,
    fits: bool | None = None,
    credit: bool = False,
    count: int | None = None,
    sold: tuple[tuple[int, date], ...] = (),
) -> Question:
    texts = ((text, BOUGHT, False),) if isinstance(text, str) else text
    if ruling in ("yes", "no"):
        fits = ruling == "yes"
    return Question(
        id=id, act=Act(act), texts=texts, expected=(ruling, limit, per, fits, credit), count=count, sold=sold
    )


TWENTY_A_YEAR = (
    "You may sell up to 20 finished garments per year made from this pattern, provided that you credit Tern & Tide as "
    "the designer. Please do not share or copy the file."
)
LAST_YEAR, THIS_YEAR = date(2025, 12, 6), date(2026, 5, 9)
NO_SELLING = "This pattern is for personal use only. Finished items may not be sold."
TEN_DE = "Nur für den privaten Gebrauch. Der Verkauf von bis zu 10 fertigen Stücken ist erlaubt."
COTTAGE = "Selling finished pieces requires a cottage licence, which you can buy in our shop."

QUESTIONS = (
    # -- selling
    _q("sell-within", "sell", TWENTY_A_YEAR, "limited", 20, "year", True, True, count=10),
    _q("sell-used-in-part", "sell", TWENTY_A_YEAR, "limited", 20, "year", False, True, count=10, sold=((15, THIS_YEAR),)),
    _q("sell-to-the-brim", "sell", TWENTY_A_YEAR, "limited", 20, "year", True, True, count=5, sold=((15, THIS_YEAR),)),
    _q("sell-last-year-is-over", "sell", TWENTY_A_YEAR, "limited", 20, "year", True, True, count=20, sold=((20, LAST_YEAR),)),
    _q("sell-total-limit-counts-years", "sell", TEN_DE, "limited", 10, None, False, count=3, sold=((8, LAST_YEAR),)),
    _q("sell-no", "sell", NO_SELLING, "no"),
    _q("sell-no-count-changes-nothing", "sell", NO_SELLING, "no", count=1),
    _q("sell-personal-only", "sell", "For personal use only.", "no"),
    _q("sell-personal-only-de", "sell", "Nur für den privaten Gebrauch.", "no"),
    _q("sell-personal-only-ja", "sell", "個人でのご使用に限ります。", "no"),
    _q("sell-own-print-is-not-only", "sell", "You may print this pattern as many times as you like for your own use.", "silent"),
    _q("sell-with-licence", "sell", COTTAGE, "with-licence", count=10),
    _q("sell-yes-credit", "sell", "Feel free to sell what you sew, as long as you credit Tern & Tide as the designer.", "yes", credit=True),
    _q("sell-silent", "sell", "Print at 100 % and check the test square. Seam allowance is included.", "silent"),
    _q("sell-contradiction", "sell", "You may sell items made from this pattern in small numbers. Selling finished items is not allowed.", "unclear"),
    _q("sell-two-limits", "sell", "You may sell up to 10 finished items. You may sell up to 25 finished items.", "unclear"),
    _q("sell-file-resale-is-not-pieces", "sell", "Please do not resell the file.", "silent"),
    _q("sell-fr", "sell", "Usage personnel uniquement. La vente des vêtements réalisés est interdite.", "no"),
    _q("sell-nl", "sell", "Uitsluitend voor eigen gebruik. Verkoop van zelfgemaakte stukken is niet toegestaan.", "no"),
    _q("sell-pl", "sell", "Wykrój tylko do użytku własnego.", "no"),
    _q("sell-sheet-against-booklet", "sell", (("Nur für den privaten Gebrauch.", BOUGHT, False), (TEN_DE, BOUGHT, False)), "limited", 10, None, True),
    _q("sell-two-files-differ", "sell", ((NO_SELLING, BOUGHT, False), ("You may sell up to 20 finished pieces.", BOUGHT, False)), "unclear"),
    _q("sell-later-terms-do-not-replace", "sell", (("You may sell up to 20 finished pieces.", BOUGHT, False), (NO_SELLING, date(2026, 10, 1), False)), "limited", 20, None, True),
    _q("sell-granted-outweighs", "sell", ((NO_SELLING, BOUGHT, False), ("You may sell up to 50 finished pieces.", date(2026, 9, 1), True)), "limited", 50, None, True, count=30),
    # -- using, printing
    _q("use-personal", "use", "For personal use only.", "yes"),
    _q("use-follows-from-selling", "use", "You may sell up to 20 finished pieces.", "yes"),
    _q("use-silent", "use", "Please do not share the file.", "silent"),
    _q("print-again", "print", "You may print this pattern as many times as you like for your own use.", "yes"),
    _q("print-how-is-not-whether", "print", "Print at 100 %. Do not print again before you have checked the test square.", "silent"),
    _q("print-de", "print", "Das Schnittmuster darf für den eigenen Bedarf beliebig oft ausgedruckt werden.", "yes"),
    # -- sharing, giving
    _q("share-no", "share", "The pattern itself, printed or digital, must not be passed on.", "no"),
    _q("share-silent", "share", "Selling finished items is not allowed.", "silent"),
    _q("give-follows-share", "give", "Please do not copy or share this pattern.", "no"),
    _q("give-silent", "give", COTTAGE, "silent"),
    # -- teaching
    _q("teach-no", "teach", "Please don't use the pattern for paid classes, and keep the file to yourself.", "no"),
    _q("teach-with-permission", "teach", "Teaching classes with this pattern requires our written permission.", "with-licence"),
    _q("teach-silent", "teach", NO_SELLING, "silent"),
    # -- altering
    _q("alter-no", "alter", "You may not copy, share, alter or resell this pattern.", "no"),
    _q("alter-silent", "alter", TEN_DE, "silent"),
    # -- working for hire
    _q("hire-no", "hire", "You may sell up to 20 finished pieces. Sewing for hire or on commission is not allowed.", "no"),
    _q("hire-follows-no-selling", "hire", NO_SELLING, "no"),
    _q("hire-unclear-where-only-selling-is-named", "hire", "You may sell up to 20 finished pieces.", "unclear"),
    _q("hire-with-permission", "hire", "Please do not sew this for paying clients without our permission.", "with-licence"),
    _q("hire-silent", "hire", "Please do not share this file.", "silent"),
)  # fmt: skip
