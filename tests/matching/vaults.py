"""Random vaults with their truth, by the families that make matching hard; as imperfectly read as real ones.

Everything is invented.  A vault is made from a seed alone; its size is the number of orders.  `imperfect` is the share
of facts that the readers of files miss or get half right.
"""

from __future__ import annotations

import random
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from urllib.parse import quote

from vault.model.evidence import DownloadLink
from vault.model.match import MatchItem
from vault.model.pattern import PatternFacts, PatternFile, Sighting, Stamp
from vault.model.purchase import Item, Purchase, Seller

NOUNS = {
    "en": "Dress Coat Shirt Skirt Blouse Jacket Trousers Cardigan Mitts Shawl Quilt Bag",
    "de": "Kleid Mantel Hemd Rock Bluse Jacke Hose Strickjacke Stulpen Tuch Decke Tasche",
    "fr": "Robe Manteau Chemise Jupe Blouse Veste Pantalon Gilet Mitaines Châle Sac",
    "nl": "Jurk Jas Overhemd Rok Blouse Broek Vest Sjaal Deken Tas",
    "sv": "Klänning Kappa Skjorta Kjol Blus Jacka Byxor Kofta Vantar Sjal Väska",
    "da": "Kjole Frakke Skjorte Nederdel Bluse Jakke Bukser Cardigan Vanter Sjal Taske",
    "es": "Vestido Abrigo Camisa Falda Blusa Chaqueta Pantalón Chal Manta Bolso",
    "it": "Abito Cappotto Camicia Gonna Blusa Giacca Pantaloni Scialle Coperta Borsa",
    "pl": "Sukienka Płaszcz Koszula Spódnica Bluzka Kurtka Spodnie Chusta Koc Torba",
    "fi": "Mekko Takki Paita Hame Pusero Jakku Housut Neuletakki Lapaset Huivi Laukku",
}
NAMES = {
    "en": "Ember Sorrel Fennel Willow Heron Otter Plover Sedge Rowan Tansy Bramble Linnet Pippin Hollow "
    "Cinder Wren Marsh Curlew Teasel Dapple Harrow Mistle Quarry Saffron Thistle Lantern Juniper "
    "Kestrel Pebble Saltbox",
    "de": "Morgenröte Käuzchen Heidekraut Möwe Grünspecht Löwenzahn Südwind Brombeere Häher Nebelkrähe "
    "Öchsle Großmut Sternschnuppe Füchslein Waldkauz Frühling Hütte Rübezahl Schwälbchen Rauhreif",
    "fr": "Églantine Hérisson Bruyère Fougère Mésange Noisette Réglisse Forêt Pâquerette Grenadine Cannelle "
    "Sureau Myrtille Aubépine Clématite Orée Crépuscule",
    "nl": "Zeeschuim Kievit Duindoorn Veldmuis Wilgenkatje Hooiberg Polderwind Reeën Stormvogel Bosuil "
    "Kruiwagen Zonnedauw",
    "sv": "Björksav Åskväder Blåklint Ängsull Källsprång Hjortron Rimfrost Smörblomma Tjärdal Skärgård "
    "Fjällräv Höstlöv",
    "da": "Kærminde Måneskin Rødhals Hyldeblomst Blåbær Strandsand Æbleblomst Solsort Lærke Bøgeløv Vårgæk Nattergal",
    "es": "Golondrina Cigüeña Almendro Señorita Otoño Brújula Jazmín Caracola Madroño Níspero Alondra Azahar",
    "it": "Ciliegia Lucciola Ninfea Città Tramonto Pettirosso Melograno Brughiera Cicoria Perché Libellula Rosmarino",
    "pl": "Jaskółka Źródło Wiśnia Łąka Konwalia Jeżyna Dąbrowa Mgła Świerszcz Bławatek Żuraw Rosa",
    "fi": "Kielo Pääskynen Yötön Hiirenkorva Lähde Mustikka Sääski Käpytikka Usva Tähti Kanerva Metsätie",
}
MAKERS = {
    "en": ["Pettle & Thrum", "Moor Ewe Knits", "Quill Cottons"],
    "de": ["Zwirnbold", "Nähkästchen Ost"],
    "fr": ["Aiguille Bohème", "L'Atelier Cerise"],
    "nl": ["Draadkracht", "Spelden & Zo"],
    "sv": ["Nålvind", "Trådrullen"],
    "da": ["Trådlys", "Maskefald"],
    "es": ["Hilo Pardo"],
    "it": ["Filo Storto"],
    "pl": ["Nitka i Wiatr"],
    "fi": ["Lankahiiri"],
}
KIDS = {
    "en": "Kids", "de": "Kinder", "fr": "enfant", "nl": "kinderen", "sv": "barn", "da": "børn", "es": "niños",
    "it": "bambini", "pl": "dzieci", "fi": "lasten",
}  # fmt: skip
VOLUME = {
    "en": "Vol.", "de": "Teil", "fr": "tome", "nl": "deel", "sv": "del", "da": "del", "es": "parte",
    "it": "parte", "pl": "część", "fi": "osa",
}  # fmt: skip
BOOKLET = {
    "en": "instructions", "de": "Anleitung", "fr": "livret", "nl": "handleiding", "sv": "instruktioner",
    "da": "vejledning", "es": "instrucciones", "it": "istruzioni", "pl": "instrukcja", "fi": "ohjeet",
}  # fmt: skip
SIZES = {
    "en": "sizes", "de": "Gr.", "fr": "tailles", "nl": "maten", "sv": "strl", "da": "str.", "es": "tallas",
    "it": "taglie", "pl": "rozmiary", "fi": "koot",
}  # fmt: skip
VARIANTS = ["kids", "hack", "2.0", "addon", "plus", "mini"]
_PAIRS = {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "å": "aa", "ø": "oe", "æ": "ae"}


def ascii_name(text: str, rng: random.Random) -> str:
    """`text` as it may reach a disk that knows no other letters: by two letters for one, or bare."""
    if rng.random() < 0.5:
        text = "".join(_PAIRS.get(c, _PAIRS.get(c.lower(), c).capitalize() if c.lower() in _PAIRS else c) for c in text)
    text = text.replace("ł", "l").replace("Ł", "L").replace("ø", "o").replace("Ø", "O").replace("ß", "ss")
    text = text.replace("æ", "ae").replace("Æ", "Ae")
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return re.sub(r"[’'`]", "", bare)


@dataclass(kw_only=True)
class Vault:
    """Items and files with what is true: `same` are right links, `may` neither right nor wrong, `ask` to be asked."""

    items: list[MatchItem] = field(default_factory=list)
    files: list[PatternFile] = field(default_factory=list)
    same: set[tuple[str, str]] = field(default_factory=set)
    may: set[tuple[str, str]] = field(default_factory=set)
    ask: set[tuple[str, str]] = field(default_factory=set)
    states: dict[str, str] = field(default_factory=dict)
    family: dict[str, str] = field(default_factory=dict)


@dataclass(kw_only=True)
class _Order:
    number: str
    day: date
    maker: str
    language: str
    seller: Seller
    items: list[Item] = field(default_factory=list)
    closed: bool = False  # takes no more items


class _Making:
    """One vault in the making."""

    def __init__(self, seed: int, imperfect: float) -> None:
        self.rng = random.Random(seed)
        self.imperfect = imperfect
        self.vault = Vault()
        self.n = 0
        self.used: set[str] = set()
        self.copies: dict[str, int] = {}
        self.sellers: dict[str, Seller] = {}
        self.orders: list[_Order] = []

    # ---- names

    def title(self, language: str) -> str:
        while True:
            noun, name = self.rng.choice(NOUNS[language].split()), self.rng.choice(NAMES[language].split())
            second = self.rng.choice(NAMES[language].split())
            if self.rng.random() < 0.3 and second != name:
                name += " " + second
            title = f"{name} {noun}" if language in ("en", "fi") else f"{noun} {name}"
            key = " ".join(sorted(title.split()))  # the same words in another order are no other title
            if key not in self.used:
                self.used.add(key)
                return title

    def file_name(self, title: str, tail: str = "") -> str:
        rng = self.rng
        shape = rng.randrange(6)
        bare = ascii_name(title, rng)
        words = bare.split()
        if shape == 0:
            name = title + (f" - {tail}" if tail else "")
        elif shape == 1:
            name = "_".join(words) + (f"_{tail}" if tail else "")
        elif shape == 2:
            name = "".join(words).lower() + (f"_{tail}" if tail else "")
        elif shape == 3:
            return quote(title + (f" {tail}" if tail else "")) + ".pdf"
        elif shape == 4:
            name = (
                "-".join(words).lower()
                + (f"-{tail.lower()}" if tail else "")
                + rng.choice(["", "-final", "_v2", "_print"])
            )
        else:
            name = "".join(w[:1].upper() + w[1:] for w in words) + tail
        return name + ".pdf"

    def copy_name(self, name: str) -> str:
        """A name that says nothing, numbered as browsers do."""
        n = self.copies[name] = self.copies.get(name, 0) + 1
        return f"{name}.pdf" if n == 1 else f"{name} ({n - 1}).pdf"

    # ---- items

    def order(self) -> _Order:
        language = self.rng.choice(list(NOUNS))
        maker = self.rng.choice(MAKERS[language])
        seller = self.sellers.setdefault(
            maker,
            Seller(
                id=f"s{len(self.sellers)}",
                name=maker,
                domains=(f"{ascii_name(maker, self.rng).split()[0].lower()}.example",),
            ),
        )
        number = f"{ascii_name(maker, self.rng)[:2].upper()}{30000 + 7 * len(self.orders)}"
        day = date(2022, 1, 3) + timedelta(days=3 * len(self.orders))
        order = _Order(number=number, day=day, maker=maker, language=language, seller=seller)
        self.orders.append(order)
        return order

    def item(self, order: _Order, title: str, family: str, **more: object) -> Item:
        self.n += 1
        item_id = f"i{self.n:06d}"
        url = f"https://{order.seller.domains[0]}/download/{order.number}/{sha256(item_id.encode()).hexdigest()[:12]}"
        made = Item(
            id=item_id, title=title, designer=order.maker, quantity=1, amount=Decimal("9.50"), digital=True,
            craft_pattern=True, links=(DownloadLink(url=url),),
        )  # fmt: skip
        made = replace(made, **more)  # type: ignore[arg-type]
        order.items.append(made)
        self.vault.family[item_id] = family
        return made

    # ---- files

    def file(
        self, item: Item | None, order: _Order, name: str, *, title: str | None, parts: tuple[str, ...] = (),
        stamped: bool | None = None, relation: str = "same", folder: str = "downloads", zipped: str | None = None,
        **facts: object,
    ) -> PatternFile:  # fmt: skip
        rng = self.rng
        missed = rng.random() < self.imperfect
        designer = None if rng.random() < self.imperfect * 1.5 or title is None else order.maker
        shown = None if missed else title
        headings: tuple[str, ...] = ()
        text = ""
        if title is not None:
            headings = tuple(rng.sample([title, order.maker], 2)) if rng.random() > self.imperfect else ()
            text = f"{title}\n{order.maker}\n" + "".join(f"{title} - {order.maker} - {n}\n\f" for n in range(1, 5))
            if shown and rng.random() < 0.2:
                shown = shown.upper()
            elif shown and rng.random() < self.imperfect:
                shown = f"{order.maker} {shown}"
        if stamped is None:
            stamped = rng.random() < 0.25
        stamp = Stamp(name="Runa Askvik", order_number=order.number) if stamped else None
        made = PatternFacts(
            media_type="application/pdf", is_pattern=True, title=shown, designer=designer, headings=headings, text=text,
            parts=parts if rng.random() > self.imperfect / 2 else (), stamp=stamp,
        )  # fmt: skip
        made = replace(made, **facts)  # type: ignore[arg-type]
        self.n += 1
        sha = sha256(f"f{self.n}".encode()).hexdigest()
        when = datetime(order.day.year, order.day.month, order.day.day, 10) + timedelta(hours=rng.randrange(4, 400))
        sighting = Sighting(
            path=f"{folder}/{zipped or name}", inside=name if zipped else None,
            zip_sha256=sha256(f"{folder}/{zipped}".encode()).hexdigest() if zipped else None,
            modified=when.isoformat() + "+00:00",
        )  # fmt: skip
        pattern = PatternFile(sha256=sha, n_bytes=4000, facts=made, sightings=(sighting,))
        self.vault.files.append(pattern)
        if item is not None and relation != "different":
            getattr(self.vault, relation).add((item.id, sha))
        return pattern

    def finish(self) -> Vault:
        for order in self.orders:
            purchase = Purchase(
                id=f"p-{order.number}", seller_id=order.seller.id, seller=order.maker, order_number=order.number,
                purchased_on=order.day, currency="EUR", total=None, buyer_name="Runa Askvik", items=tuple(order.items),
            )  # fmt: skip
            self.vault.items += [MatchItem(item=i, purchase=purchase, seller=order.seller) for i in order.items]
        self.rng.shuffle(self.vault.items)
        self.rng.shuffle(self.vault.files)
        return self.vault


# ---- families: each adds items and files to an order


def plain(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "plain")
    m.file(item, o, m.file_name(title), title=title)
    m.vault.states[item.id] = "held"


def parts_apart(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    promised = ("A4", "A0", BOOKLET[o.language])
    item = m.item(o, title, "parts", promised=promised)
    absent = m.rng.choice([None, None, *promised])
    for part, known in (("A4", "A4"), ("A0", "A0"), (BOOKLET[o.language], "instructions")):
        if part != absent:
            m.file(item, o, m.file_name(title, part), title=title if m.rng.random() < 0.6 else None, parts=(known,))
    m.vault.states[item.id] = "held" if absent is None else "partial"


def text_only(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "text only")
    name = m.copy_name(m.rng.choice(["download", "document", "pattern", "untitled", "file"]))
    m.file(item, o, name, title=title)
    m.vault.states[item.id] = "held"


def name_only(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "name only")
    name = m.file_name(title)
    if m.rng.random() < 0.4:
        name = f"{o.maker} - {title}.pdf"
    m.file(item, o, name, title=None, stamped=False)
    m.vault.states[item.id] = "held"


def folder_only(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "folder only", promised=("A4", BOOKLET[o.language]))
    for name, part in (("A4.pdf", "A4"), (f"{BOOKLET[o.language]}.pdf", "instructions")):
        m.file(item, o, name, title=None, parts=(part,), folder=f"patterns/{o.maker} - {title}", stamped=False)
    m.vault.states[item.id] = "held"


def zip_generic(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "zip", promised=("A4", "A0", BOOKLET[o.language]))
    zipped = (
        m.copy_name("download").replace(".pdf", ".zip") if m.rng.random() < 0.6 else f"{ascii_name(title, m.rng)}.zip"
    )
    named = m.rng.random() < 0.5 or not zipped.startswith("download")
    for name, part in (("A4.pdf", "A4"), ("A0.pdf", "A0"), (f"{BOOKLET[o.language]}.pdf", "instructions")):
        told = title if part == "instructions" or (named and m.rng.random() < 0.5) else None
        m.file(item, o, name, title=told, parts=(part,), zipped=zipped, stamped=False)
    m.vault.states[item.id] = "held"


def code_name(m: _Making, o: _Order) -> None:
    title, code = m.title(o.language), f"{o.number[:2]}-{100 + len(m.orders)}"
    item = m.item(o, title, "code", product_code=code)
    m.file(item, o, f"{code}_A4.pdf", title=None, parts=("A4",), stamped=False)
    m.vault.states[item.id] = "held"


def metadata_only(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "metadata")
    meta = {"Title": title, "Author": o.maker}
    m.file(item, o, m.copy_name("untitled"), title=None, metadata=meta, stamped=False)
    m.vault.states[item.id] = "held"


def origin_only(m: _Making, o: _Order) -> None:
    item = m.item(o, m.title(o.language), "origin")
    made = m.file(item, o, m.copy_name("download"), title=None, stamped=False)
    sighting = replace(made.sightings[0], origin_url=item.links[0].url)
    m.vault.files[-1] = replace(made, sightings=(sighting,))
    m.vault.states[item.id] = "held"


def near_title(m: _Making, o: _Order) -> None:
    """A title and its variant: either or both bought, either or both here."""
    base = m.title(o.language)
    kind = m.rng.choice(VARIANTS)
    word = {
        "kids": KIDS[o.language],
        "hack": "Hack Pack",
        "2.0": "2.0",
        "addon": "Add-On",
        "plus": "Plus Size",
        "mini": "Mini",
    }
    variant = f"{base} {word[kind]}"
    bought = m.rng.choice([(1, 1), (1, 0), (0, 1)])
    here = m.rng.choice([(1, 0), (0, 1), (1, 1)])
    for title, is_bought, is_here in zip((base, variant), bought, here, strict=True):
        item = m.item(o, title, "near title") if is_bought else None
        if is_here:
            told = m.rng.random() < 0.6
            name = m.file_name(title) if not told or m.rng.random() < 0.5 else m.copy_name("pattern")
            m.file(item, o, name, title=title if told else None, stamped=False)
        if item is not None:
            m.vault.states[item.id] = "held" if is_here else "missing"


def volumes(m: _Making, o: _Order) -> None:
    base = m.title(o.language)
    roman = m.rng.random() < 0.2
    for n in range(1, m.rng.randrange(3, 5)):
        title = f"{base} {'I' * n}" if roman and n > 1 else f"{base} {VOLUME[o.language]} {n}"
        is_bought, is_here = m.rng.random() < 0.8, m.rng.random() < 0.5
        item = m.item(o, title, "volume") if is_bought else None
        if is_here:
            told = m.rng.random() < 0.6
            name = f"{ascii_name(base.split()[0], m.rng).lower()}_{n:02d}.pdf" if told else m.file_name(title)
            m.file(item, o, name, title=title if told else None, stamped=False)
        if item is not None:
            m.vault.states[item.id] = "held" if is_here else "missing"


def size_split(m: _Making, o: _Order) -> None:
    base = m.title(o.language)
    ranges = m.rng.choice([("XS-L", "XL-4XL"), ("32-44", "46-58"), ("6-18", "20-34")])
    here = m.rng.randrange(2)
    for n, sizes in enumerate(ranges):
        item = m.item(o, f"{base} ({SIZES[o.language]} {sizes})", "sizes")
        if n == here:
            m.file(item, o, m.file_name(base, "A4"), title=base, sizes=(sizes,), parts=("A4",), stamped=False)
        m.vault.states[item.id] = "held" if n == here else "missing"


def stamp_only(m: _Making, o: _Order) -> None:
    if o.items:
        return plain(m, o)
    item = m.item(o, m.title(o.language), "stamp")
    o.closed = True
    m.file(item, o, m.copy_name("pattern_final"), title=None, stamped=True, text="1.\nCast on.\n")
    m.vault.states[item.id] = "held"
    return None


def bundle(m: _Making, o: _Order) -> None:
    members = tuple(m.title(o.language) for _ in range(3))
    item = m.item(o, f"{m.title(o.language).split()[0]}paket Nr. {len(m.orders)}", "bundle", promised=members)
    here = [t for t in members if m.rng.random() < 0.8]
    for title in here:
        m.file(item, o, m.file_name(title), title=title)
    m.vault.states[item.id] = "held" if len(here) == 3 else "partial" if here else "missing"


def unusable(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "unusable")
    why = m.rng.choice(["empty", "truncated", "error page", "preview"])
    m.file(item, o, m.file_name(title), title=title if why == "preview" else None, relation="may", unusable=why)
    m.vault.states[item.id] = "missing"


def freebie(m: _Making, o: _Order) -> None:
    """The bought pattern is not here; a free one of the same kind by the same designer is."""
    noun = m.rng.choice(NOUNS[o.language].split())
    names = m.rng.sample(NAMES[o.language].split(), 2)
    titles = [f"{n} {noun}" if o.language in ("en", "fi") else f"{noun} {n}" for n in names]
    keys = {" ".join(sorted(t.split())) for t in titles}
    if keys & m.used:
        return plain(m, o)
    m.used.update(keys)
    item = m.item(o, titles[0], "freebie")
    m.file(item, o, m.file_name(titles[1]), title=titles[1], relation="different", stamped=False)
    m.vault.states[item.id] = "missing"
    return None


def missing(m: _Making, o: _Order) -> None:
    item = m.item(o, m.title(o.language), "missing")
    m.vault.states[item.id] = "missing"


def other_maker(m: _Making, o: _Order) -> None:
    """A pattern of the same title by a maker whom she never bought from."""
    title = m.title(o.language)
    item = m.item(o, title, "other maker")
    m.file(
        item,
        o,
        m.file_name(title),
        title=title,
        relation="ask",
        designer="Somebody Else Sews",
        stamped=False,
        headings=(),
        text="",
    )
    m.vault.states[item.id] = "missing"


def restamped(m: _Making, o: _Order) -> None:
    title = m.title(o.language)
    item = m.item(o, title, "restamped")
    name = m.file_name(title)
    for n in range(2):
        m.file(
            item,
            o,
            name.replace(".pdf", " (1).pdf") if n else name,
            title=title,
            stamped=True,
            content_fingerprint=f"c{m.n - n}",
        )
    m.vault.states[item.id] = "held"


def adverts(m: _Making, o: _Order) -> None:
    titles = [m.title(o.language) for _ in range(3)]
    items = [m.item(o, t, "advert") for t in titles]
    m.file(items[0], o, m.file_name(titles[0]), title=titles[0], other_titles=tuple(titles[1:]), stamped=False,
           text=f"{titles[0]}\n1.\n{titles[0]}\nMore\n{titles[1]}\n{titles[2]}\n")  # fmt: skip
    for n, item in enumerate(items):
        m.vault.states[item.id] = "missing" if n else "held"


def clutter(m: _Making, o: _Order) -> None:
    """Things that belong to nothing: manuals, statements, sheets that nothing explains."""
    plain(m, o)
    m.file(
        None,
        o,
        m.copy_name("statement"),
        title="Account statement",
        is_pattern=False,
        relation="different",
        stamped=False,
    )
    m.file(None, o, m.copy_name("A0"), title=None, parts=("A0",), relation="different", stamped=False)


FAMILIES: tuple[Callable[[_Making, _Order], None], ...] = (
    plain, plain, parts_apart, parts_apart, text_only, name_only, folder_only, zip_generic, code_name, metadata_only,
    origin_only, near_title, near_title, volumes, size_split, stamp_only, bundle, unusable, freebie, missing,
    other_maker, restamped, adverts, clutter,
)  # fmt: skip


def make_vault(seed: int, orders: int, *, imperfect: float = 0.1) -> Vault:
    """A vault of about two items for each of `orders`, and as many files."""
    making = _Making(seed, imperfect)
    for _ in range(orders):
        order = making.order()
        for family in making.rng.sample(FAMILIES, making.rng.choice([1, 1, 2, 3])):
            if not order.closed:
                family(making, order)
    return making.finish()
