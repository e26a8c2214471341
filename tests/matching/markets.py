"""A second kind of random vault: other shops, designers, languages and families than in `vaults`, at everyday rates.

Shops that sell other people's patterns, stalls on a marketplace, designers under two names, titles as shops dress them
up; and, in about one order of seven, something that only looks like what was bought: another colour, another garment in
one word with it, last year's, the next size band, somebody else's pattern of that name.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import vaults
from vaults import Vault, _Making, _Order

from vault.model.match import MatchItem
from vault.model.purchase import Item, Seller

NOUNS = {
    "en": "Smock Tunic Overalls Vest Cape Culottes Jumper Cowl Socks Blanket",
    "de": "Latzhose Weste Umhang Pullover Socken Wickelkleid Bluson Haube",
    "fr": "Salopette Tunique Cape Chaussettes Plaid Combinaison Gilet",
    "nb": "Genser Lue Votter Sokker Skjørt Bukse Teppe Kåpe",
    "nl": "Trui Tuniek Cape Sokken Legging Plaid Overall",
    "it": "Maglione Tunica Mantella Calzini Gilet Coperta",
    "pl": "Sweter Tunika Czapka Skarpetki Kamizelka Peleryna",
    "ja": "ワンピース ブラウス スカート バッグ コート パンツ",
}
NAMES = {
    "en": "Dunnock Sallow Gorse Bittern Cobnut Tamarisk Whinchat Samphire Orchil Medlar Cuckoopint Godwit Brimstone Loosestrife",
    "de": "Zaunkönig Ginster Eibisch Rohrdommel Quittenhain Schneebeere Wiesenknopf Ahornblatt Goldammer Mauersegler Distelfink",
    "fr": "Bouvreuil Genévrier Pivoine Églantier Sittelle Coquelicot Sarriette Traînasse Roitelet Verveine",
    "nb": "Fjellrype Multebær Røsslyng Bjørkeris Sjøsprøyt Tyttebær Nordavind Kveldsol Blåveis Skogsnipe",
    "nl": "Grutto Lijsterbes Waterlelie Rietzanger Sleedoorn Vlierbes Nachtvlinder Korenbloem Tureluur",
    "it": "Cinciallegra Ginestra Corbezzolo Upupa Biancospino Lavanda Civetta Mirtillo Sambuco",
    "pl": "Rudzik Wrzos Jarzębina Czapla Kalina Pliszka Borówka Szczygieł Głóg",
    "ja": "つばめ すみれ あけび ほたる さざなみ かえで ひばり なでしこ つゆくさ",
}
MAKERS = {
    "en": ["Selvedge & Sons", "Pin Tuck Parlour", "Ruth Okonjo"], "de": ["Fadenschein", "Spulenliebe"],
    "fr": ["Point de Bâti", "Le Dé d'Argent"], "nb": ["Nøstebarn", "Garnstua Vest"], "nl": ["Rijgdraad", "Zoom & Boord"],
    "it": ["Imbastita", "Ago Dritto"], "pl": ["Szpulka Anny", "Krzywy Ścieg"], "ja": ["いとまき工房", "はりやま"],
}  # fmt: skip
COLOURS = {
    "en": "Blue Red Green", "de": "Blau Rot Grün", "fr": "bleu rouge vert", "nb": "blå rød grønn",
    "nl": "blauw rood groen", "it": "blu rosso verde", "pl": "czerwona zielona czarna", "ja": "赤 青 緑",
}  # fmt: skip
COMPOUNDS = [
    ("en", "Shirt", "Shirtdress"), ("en", "Skirt", "Skirt Pants"), ("en", "Jacket", "Coat-Jacket"),
    ("de", "Rock", "Hosenrock"), ("de", "Kleid", "Latzkleid"), ("nl", "Broek", "Broekrok"), ("fr", "Jupe", "Jupe-culotte"),
]  # fmt: skip
DRESSED = {
    "en": "{0} PDF sewing pattern, sizes 6-24", "de": "Schnittmuster {0} als E-Book zum Download",
    "fr": "Patron PDF {0} (tailles 34-50)", "nb": "{0} - PDF-oppskrift", "nl": "Naaipatroon {0} (PDF)",
    "it": "Cartamodello PDF {0}", "pl": "Wykrój PDF {0}", "ja": "{0} 型紙 PDF",
}  # fmt: skip


def _title(m: _Making, o: _Order, nouns: bool = True) -> str:
    while True:
        name = m.rng.choice(NAMES[o.language].split())
        if m.rng.random() < 0.35:
            name = " ".join(m.rng.sample(NAMES[o.language].split(), 2))
        noun = m.rng.choice(NOUNS[o.language].split()) if nouns else ""
        if o.language == "ja":
            title = name.replace(" ", "") + noun
        else:
            title = " ".join([name, noun] if o.language in ("en", "nb") else [noun, name]).strip()
        key = " ".join(sorted(title.split()))
        if key not in m.used:
            m.used.add(key)
            return title


def _name(m: _Making, o: _Order, title: str, tail: str = "") -> str:
    return f"{title}{' ' + tail if tail else ''}.pdf" if o.language == "ja" else m.file_name(title, tail)


def plain(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    item = m.item(o, title, "plain")
    m.file(item, o, _name(m, o, title), title=title)
    m.vault.states[item.id] = "held"


def absent(m: _Making, o: _Order) -> None:
    m.vault.states[m.item(o, _title(m, o), "absent").id] = "missing"


def dressed_up(m: _Making, o: _Order) -> None:
    """The shop's title has everything in it; the file has the pattern's own."""
    title = _title(m, o)
    item = m.item(o, DRESSED[o.language].format(title), "dressed up")
    m.file(item, o, _name(m, o, title, "A4"), title=title if m.rng.random() < 0.7 else None, parts=("A4",))
    m.vault.states[item.id] = "held"


def scanned(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    item = m.item(o, title, "scanned")
    m.file(item, o, f"{o.maker} - {title}.pdf", title=None, stamped=False)
    m.vault.states[item.id] = "held"


def versions(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    item = m.item(o, title, "versions")
    for version in ("1.0", "1.2"):
        m.file(item, o, _name(m, o, title, f"v{version}"), title=title, version=version)
    m.vault.states[item.id] = "held"


def order_zip(m: _Making, o: _Order) -> None:
    """Two items in one zip that has the order's number; each file is titled."""
    for title in (_title(m, o), _title(m, o)):
        item = m.item(o, title, "order zip")
        m.file(item, o, f"{m.n}.pdf", title=title, zipped=f"order_{o.number}.zip", stamped=False)
        m.vault.states[item.id] = "held"


def retailer(m: _Making, o: _Order) -> None:
    """The receipt names the shop only, the document somebody else: theirs, or another pattern of that name?"""
    title = _title(m, o)
    item = m.item(o, title, "retailer", designer=None)
    m.file(item, o, _name(m, o, title), title=title, designer="Hettie Vane Makes", headings=(title,),
           text=f"{title}\nHettie Vane Makes\n", stamped=False, relation="ask")  # fmt: skip
    m.vault.states[item.id] = "missing"


def two_names(m: _Making, o: _Order) -> None:
    """The document has a name of the designer's that the seller's own mail gave."""
    title = _title(m, o)
    other = f"{o.maker.split()[0]}werk Studio"
    o.seller = replace(o.seller, also_known_as=(other,))
    item = m.item(o, title, "two names")
    m.file(item, o, _name(m, o, title), title=title, designer=other, headings=(title,), text="", stamped=False)
    m.vault.states[item.id] = "held"


def bought_twice(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    for _ in range(2):
        item = m.item(o, title, "bought twice")
        m.vault.states[item.id] = "held"
    made = m.file(o.items[-1], o, _name(m, o, title), title=title)
    m.vault.same.add((o.items[-2].id, made.sha256))


def not_usable(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    item = m.item(o, title, "not usable")
    kind = m.rng.choice(["preview", "truncated", "empty", "locked"])
    m.file(item, o, _name(m, o, title), title=title if kind == "preview" else None, relation="may",
           unusable=None if kind == "locked" else kind, encrypted="user" if kind == "locked" else "none")  # fmt: skip
    m.vault.states[item.id] = "missing"


# ---- what only looks like it: the item is bought, and what is here is something else


def _like(
    m: _Making, o: _Order, family: str, bought: str, here: str, *, relation: str = "different", **facts: object
) -> None:
    item = m.item(o, bought, family)
    m.file(item, o, _name(m, o, here), title=here, relation=relation, stamped=False, **facts)
    m.vault.states[item.id] = "missing"


def colour(m: _Making, o: _Order) -> None:
    title, (a, b) = _title(m, o), m.rng.sample(COLOURS[o.language].split(), 2)
    _like(m, o, "colour", f"{title} - {a}", f"{title} - {b}")


def compound(m: _Making, o: _Order) -> None:
    language, short, long = m.rng.choice(COMPOUNDS)
    o.language = language
    name = _title(m, o, nouns=False)
    if language == "en":
        _like(m, o, "compound", f"{name} {short}", f"{name} {long}")
    else:
        _like(m, o, "compound", f"{short} {name}", f"{long} {name}")


def last_year(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    _like(m, o, "last year", f"{title} 2023", f"{title} 2022")


def next_sizes(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    _like(m, o, "next sizes", f"{title} (32-44)", f"{title} (44-58)")


def somebody_elses(m: _Making, o: _Order) -> None:
    """That title by a maker of whom something else was bought; the file says so in one place."""
    others = [x.maker for x in m.orders if x.maker != o.maker]
    if not others:
        return plain(m, o)
    title, other = _title(m, o), m.rng.choice(others)
    item = m.item(o, title, "somebody else's")
    where = m.rng.randrange(3)
    name = f"{other} - {title}.pdf" if where == 0 else _name(m, o, title)
    m.file(item, o, name, title=title, designer=other if where == 2 else None, headings=(title,),
           text=f"{title}\n{other}\n" if where else "", stamped=False, relation="different",
           folder=f"patterns/{other}" if where == 1 else "downloads")  # fmt: skip
    m.vault.states[item.id] = "missing"
    return None


def one_word_more(m: _Making, o: _Order) -> None:
    title = _title(m, o)
    more = m.rng.choice(NAMES[o.language].split())
    here = title + more if o.language == "ja" else f"{title} {more}"
    if more in title:
        return plain(m, o)
    m.used.add(" ".join(sorted(here.split())))
    _like(m, o, "one word more", title, here, relation="ask")
    return None


EVERYDAY: tuple[Callable[[_Making, _Order], None], ...] = (
    plain, plain, plain, dressed_up, dressed_up, scanned, versions, order_zip, retailer, two_names, bought_twice, absent,
    absent, not_usable, vaults.code_name, vaults.metadata_only, vaults.origin_only,
)  # fmt: skip
LOOK_ALIKES: tuple[Callable[[_Making, _Order], None], ...] = (
    colour, compound, last_year, next_sizes, somebody_elses, one_word_more,
)  # fmt: skip


class _Markets(_Making):
    def order(self) -> _Order:
        language = self.rng.choice(list(NOUNS))
        maker = self.rng.choice(MAKERS[language])
        order = super().order()
        domain = f"shop{sorted(m for ms in MAKERS.values() for m in ms).index(maker)}.example"
        seller = Seller(id=f"m-{maker}", name=maker, domains=(domain,))
        order.language, order.maker, order.seller = language, maker, seller
        order.number = f"{'QX' if language == 'ja' else vaults.ascii_name(maker, self.rng)[:2].upper()}-{70000 + 13 * len(self.orders)}"
        return order

    def title(self, language: str) -> str:
        return _title(
            self, _Order(number="", day=self.orders[-1].day, maker="", language=language, seller=Seller(id="", name=""))
        )

    def item(self, order: _Order, title: str, family: str, **more: object) -> Item:
        # A marketplace's receipt names every line's designer; one in five names none.
        if family in ("plain", "absent") and self.rng.random() < 0.2:
            more.setdefault("designer", None)
        return super().item(order, title, family, **more)


def make_markets(seed: int, orders: int, *, imperfect: float = 0.1, alike: float = 0.15) -> Vault:
    """A vault of about two items for each of `orders`; `alike` is the share of those that have a look-alike."""
    making = _Markets(seed, imperfect)
    for _ in range(orders):
        order = making.order()
        for _ in range(making.rng.choice([1, 1, 2, 3])):
            families = LOOK_ALIKES if making.rng.random() < alike else EVERYDAY
            making.rng.choice(families)(making, order)
    vault = making.finish()
    sellers = {o.number: o.seller for o in making.orders}
    vault.items = [
        MatchItem(item=i.item, purchase=i.purchase, seller=sellers[i.purchase.order_number or ""]) for i in vault.items
    ]
    return vault
