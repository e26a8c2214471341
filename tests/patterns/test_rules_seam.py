"""The seam allowance in twelve languages, in both units and every spelling of fractions.

1/4 in = 6.35 mm, 3/8 = 9.525, 1/2 = 12.7, 5/8 = 15.875 and metric 6, 7, 10, 12, 15 mm: common practice, no published
source; an inch is 25.4 mm exactly (international yard and pound agreement).
"""

from __future__ import annotations

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.patterns.pages_text import PageText, TextLine, pages_of_text
from vault.patterns.seam import measures, seam_allowance_mm

SAYINGS = [
    ("en", 'All seam allowances are 1 cm (3/8") and are included unless stated otherwise.', 10.0),
    ("en", "A 5/8 in (1.5 cm) seam allowance is included on all pieces.", 15.0),
    ("en", 'Seam allowance: ⅜"', 9.525),
    ("en", "Seam allowances of 1/4 inch are included.", 6.35),
    ("en", 'Seam allowance 6 mm (1/4") included.', 6.35),
    ("en", "Seam allowances are not included.", 0.0),
    ("en", "This pattern does not include seam allowances. Add 1 cm when cutting.", 0.0),
    ("en", "Sew with a 1.5cm seam allowance unless otherwise stated. Hem allowance is 3 cm.", 15.0),
    ("en", "Seam and hem allowances of 1.5 cm are included.", 15.0),
    ("en", "Seam allowances: 1 cm, hem: 4 cm, neckline: 6 mm.", 10.0),
    ("en", "Sew the side seams with a 12 mm seam allowance. Trim the seam allowance to 3 mm.", 12.0),
    ("en", "Trim the seam allowance to 6 mm and press open.", None),
    ("en", "Seam allowance is included, there is no need to add any.", None),
    (
        "en",
        'No seam allowance is included on the binding. A 1/2" seam allowance is included on every other piece.',
        12.7,
    ),
    ("en", "Press the hem up by 2 cm.", None),
    ("en", "Use a scant ¼ inch seam allowance throughout.", 6.35),
    ("en", 'Seam allowance\n1.5 cm (5/8")', 15.0),
    ("en", 'All pattern pieces include 1/2" (1.3 cm) seam allowances.', 12.7),
    ("en", 'All measurements include ¼" seam allowances.', 6.35),
    ("de", "Nahtzugaben sind nicht enthalten, gib beim Zuschnitt 1 cm dazu.", 0.0),
    ("de", "Alle Teile enthalten 1,5 cm Nahtzugabe, am Saum 3 cm Saumzugabe.", 15.0),
    ("de", "Schnitt ohne Nahtzugabe.", 0.0),
    (
        "de",
        "Die Nahtzugabe von 0,7 cm ist bereits enthalten. Es muss keine weitere Nahtzugabe hinzugefügt werden.",
        7.0,
    ),
    ("de", "Eine Naht- und Saumzugabe von 1 cm ist enthalten.", 10.0),
    ("de", "Schneide alle Teile zuzüglich 1 cm Nahtzugabe zu.", 0.0),
    ("de", "NZ: 1 cm inkl.", 10.0),
    ("de", "Nahtzugabe auf 5 mm zurückschneiden.", None),
    ("de", "Im Schnitt ist keine Nahtzugabe enthalten.", 0.0),
    ("fr", "Les marges de couture de 1 cm sont comprises dans le patron.", 10.0),
    ("fr", "Marges de couture non comprises.", 0.0),
    ("fr", "Marges de couture incluses : 1 cm partout, sauf indication contraire.", 10.0),
    ("fr", "Valeurs de couture non incluses, ajoutez 1 cm partout et 3 cm aux ourlets.", 0.0),
    ("fr", "Patron couture comprise : marge de 0,7 cm.", 7.0),
    ("fr", "La marge de couture est de 1,5 cm, l'ourlet de 3 cm.", 15.0),
    ("nl", "De naadtoeslag van 1 cm is inbegrepen.", 10.0),
    ("nl", "Patroon zonder naadwaarde.", 0.0),
    ("nl", "Naden zijn niet inbegrepen: knip 1 cm naadtoeslag aan.", 0.0),
    ("nl", "Het patroon is inclusief 0,75 cm naadtoeslag en 2 cm zoomtoeslag.", 7.5),
    ("es", "Todas las piezas llevan 1,5 cm de margen de costura.", 15.0),
    ("es", "Los márgenes de costura no están incluidos.", 0.0),
    ("es", "Patrón sin margen de costura, añade 1 cm.", 0.0),
    ("it", "Il margine di cucitura di 1 cm è compreso nel cartamodello.", 10.0),
    ("it", "I margini di cucitura non sono compresi: aggiungere 1,5 cm.", 0.0),
    ("sv", "Sömsmån på 1 cm ingår i mönstret.", 10.0),
    ("sv", "Sömsmån ingår inte.", 0.0),
    ("sv", "Mönstret är utan sömsmån. Lägg till 1 cm.", 0.0),
    ("sv", "1,5 cm sömsmån är inkluderad på alla delar om inget annat anges. Fålltillägg 3 cm.", 15.0),
    ("da", "Mønsteret er uden sømrum. Læg 1 cm til hele vejen rundt.", 0.0),
    ("da", "1 cm sømrum er inkluderet i alle dele.", 10.0),
    ("da", "Sømrum er ikke medregnet.", 0.0),
    ("nb", "Sømmonn på 1 cm er inkludert.", 10.0),
    ("nb", "Sømmonn er ikke medregnet.", 0.0),
    ("pl", "Zapas na szwy 1 cm jest wliczony w wykrój.", 10.0),
    ("pl", "Wykrój nie zawiera zapasów na szwy.", 0.0),
    ("pl", "Dodatki na szwy: 1,5 cm (zawarte).", 15.0),
    ("fi", "Kaavoissa on 1 cm saumanvarat.", 10.0),
    ("fi", "Kaavat eivät sisällä saumanvaroja. Lisää 1 cm.", 0.0),
    ("fi", "Saumanvara 1 cm sisältyy kaavaan.", 10.0),
    ("ja", "縫い代1cm込みの型紙です。", 10.0),
    ("ja", "縫い代は含まれていません。", 0.0),
    ("ja", "縫い代なし。周囲に1cmの縫い代をつけて裁断してください。", 0.0),
    ("ja", "縫い代は付いています。指定以外の縫い代は1㎝です。", 10.0),
    ("ja", "縫い代：0.7cm（含む）、裾：3cm", 7.0),
    ("en", 'Pattern pieces include a 1/2" seam allowance.', 12.7),
    ("en", "All seams are 1cm unless otherwise noted.", 10.0),
    ("en", "Seam allowances: 10mm (already included)", 10.0),
    ("en", 'Seam allowance is 0.6 cm (¼") for neckline and 1 cm everywhere else.', 10.0),
    ("en", "SEAM ALLOWANCE INCLUDED: 1.5 CM", 15.0),
    ("en", "No seam allowance has been added to this pattern.", 0.0),
    ("en", "Seam allowances have not been added; please add 1.5 cm to all edges.", 0.0),
    ("en", 'Stitch all seams with right sides together using a 5/8" (1.6 cm) seam allowance.', 15.875),
    ("en", "There is a 10 mm seam allowance on all pattern pieces and a 25 mm hem allowance.", 10.0),
    ("en", "Seam allowances of 3/8 in. are included except at the hem, where 1 in. is allowed.", 9.525),
    ("en", "Unless specified, use a ¼-inch seam allowance.", 6.35),
    ("en", "S/A: 1cm", 10.0),
    ("en", "Add seam allowance (1 cm) to all pieces.", 0.0),
    ("en", "You do not have to add a seam allowance: 1 cm is included.", 10.0),
    ("en", "1 cm seam allowances are included in the pattern, so there is no need to add any.", 10.0),
    ("de", "Nahtzugabe: 1 cm, Saum: 2 cm (beides enthalten)", 10.0),
    ("de", "Inkl. 1 cm Nahtzugabe", 10.0),
    ("de", "Die Schnittteile sind ohne Nahtzugaben gezeichnet. Bitte 1 cm zugeben.", 0.0),
    ("de", "Der Schnitt enthält bereits eine Nahtzugabe von 0,75 cm.", 7.5),
    ("de", "An allen Kanten 1 cm Nahtzugabe hinzufügen.", 0.0),
    ("de", "Nahtzugaben (1,5 cm) und Saumzugaben (4 cm) sind bereits enthalten.", 15.0),
    ("de", "Es ist keine Nahtzugabe enthalten!", 0.0),
    ("de", "Eine Nahtzugabe von 1 cm ist überall, außer am Saum (3 cm), enthalten.", 10.0),
    ("de", "Mit 0,7 cm Nahtzugabe nähen.", 7.0),
    ("de", "Nahtzugabe muss noch hinzugefügt werden.", 0.0),
    ("fr", "Les valeurs de couture de 1 cm sont incluses sauf indication contraire.", 10.0),
    ("fr", "Patron sans marges de couture : pensez à ajouter 1,5 cm.", 0.0),
    ("fr", "Marge de couture de 7 mm incluse", 7.0),
    ("fr", "Couture non comprise", 0.0),
    ("fr", "Les marges (1 cm) sont comprises.", 10.0),
    ("fr", "Ajoutez 1 cm de marge de couture tout autour.", 0.0),
    ("fr", "Toutes les coutures se font à 1 cm du bord, marges de couture comprises.", 10.0),
    ("nl", "Inclusief 1 cm naadtoeslag", 10.0),
    ("nl", "Naadtoeslag is niet in het patroon opgenomen.", 0.0),
    ("nl", "Alle naden zijn voorzien van 0,7 cm naadwaarde.", 7.0),
    ("nl", "Voeg zelf 1 cm naadtoeslag toe.", 0.0),
    ("es", "El margen de costura es de 1 cm y ya está incluido.", 10.0),
    ("es", "Sin margen de costura", 0.0),
    ("es", "Margen de costura: 0,7 cm", 7.0),
    ("es", "Los patrones incluyen 1 cm de costura.", None),
    ("it", "Margini di cucitura inclusi: 1 cm", 10.0),
    ("it", "Il cartamodello è senza margini di cucitura.", 0.0),
    ("it", "Aggiungi 1 cm di margine di cucitura.", 0.0),
    ("sv", "I mönstret ingår 1 cm sömsmån.", 10.0),
    ("sv", "Sömsmån 0,7 cm.", 7.0),
    ("sv", "Sömsmånen är inte inräknad.", 0.0),
    ("sv", "Klipp med 1 cm sömsmån.", 0.0),
    ("da", "Sømrum på 1 cm er inkluderet.", 10.0),
    ("da", "Mønsteret indeholder 0,7 cm sømrum.", 7.0),
    ("da", "Der er ikke lagt sømrum til.", 0.0),
    ("da", "Husk at lægge 1 cm sømrum til.", 0.0),
    ("nb", "Sømmonn er inkludert med 1 cm.", 10.0),
    ("nb", "Mønsteret er uten sømmonn.", 0.0),
    ("nb", "Legg til 1 cm sømmonn.", 0.0),
    ("pl", "Zapasy na szwy: 1 cm, podwinięcie: 3 cm.", 10.0),
    ("pl", "Do wykroju należy dodać 1 cm na szwy.", None),
    ("pl", "Wykrój bez zapasów na szwy.", 0.0),
    ("pl", "Zapas na szew 7 mm jest już dodany.", 7.0),
    ("fi", "Saumanvarat 1 cm sisältyvät kaavoihin.", 10.0),
    ("fi", "Kaavoissa ei ole saumanvaroja.", 0.0),
    ("fi", "Lisää saumanvarat 1 cm.", 0.0),
    ("ja", "縫い代込みの型紙です（縫い代1cm）。", 10.0),
    ("ja", "縫い代は含まれておりません。1cmつけて裁断してください。", 0.0),
    ("ja", "全て縫い代1㎝付き", 10.0),
    ("ja", "縫い代は別途つけてください。", 0.0),
]


@pytest.mark.parametrize(("language", "text", "expected"), SAYINGS)
def test_what_is_said(language: str, text: str, expected: float | None) -> None:
    for code in (language, None):
        value, words = seam_allowance_mm(pages_of_text(text), code)
        assert value == expected
        assert words.replace("\n", " ") in " ".join(text.split()) or not words


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ('3/8"', 9.525),
        ("⅜ in", 9.525),
        ("5/8 inch", 15.875),
        ("5⁄8″", 15.875),
        ("½ inch", 12.7),
        ("1/2-inch", 12.7),
        ("1 1/4 in", 31.75),
        ("1¼ inches", 31.75),
        ("0.25 in", 6.35),
        ("1 cm", 10.0),
        ("1,5cm", 15.0),
        ("0.7 cm", 7.0),
        ("12 mm", 12.0),
        ("６mm", 6.0),
        ("1㎝", 10.0),
        ("7ミリ", 7.0),
        ("1センチ", 10.0),
        ("½ cm", 5.0),
        ("cm 1,5", 15.0),
        ("1/4 Zoll", 6.35),
        ("¼ pouce", 6.35),
        ("3/8 tum", 9.525),
        ("10 millimètres", 10.0),
        ("1 Zentimeter", 10.0),
    ],
)
def test_lengths_in_every_spelling(written: str, mm: float) -> None:
    found = measures(pages_of_text(f"x {written} y")[0].text.translate({0xFF16: "6"}))
    assert [measure.mm for measure in found] == [pytest.approx(mm)]


@pytest.mark.parametrize(
    "text", ["2 in the round", "page 3/8", "size 1/2", "12 months", "3 inner pieces", "100 %", "1/0 in"]
)
def test_what_is_no_length(text: str) -> None:
    assert measures(text) == []


def test_the_width_said_for_all_seams_goes_before_a_step() -> None:
    pages = pages_of_text(
        "Sew the collar with a 6 mm seam allowance.\nSew the pocket with a 6 mm seam allowance.\f"
        "All seam allowances are 1.5 cm and are included."
    )
    assert seam_allowance_mm(pages, "en")[0] == 15.0


def test_two_widths_of_one_weight_leave_it_open() -> None:
    pages = pages_of_text(
        "Stitch the shoulder line together using a 1 cm seam allowance, then turn the whole piece.\f"
        "Stitch the inner leg together using a 2 cm seam allowance, then turn the whole piece."
    )
    assert seam_allowance_mm(pages, "en")[0] is None


def test_a_table_cell_beside_its_label() -> None:
    lines = (TextLine(text="Seam allowance", x=20, y=50), TextLine(text='1.5 cm (5/8")', x=90, y=50))
    assert seam_allowance_mm((PageText(1, 210.0, 297.0, lines),), "en")[0] == 15.0


def test_a_sentence_over_two_lines() -> None:
    lines = (
        TextLine(text="Please note that all of the pattern pieces in this file come with a seam", x=20, y=50),
        TextLine(text="allowance of 1 cm which is included.", x=20, y=55),
    )
    assert seam_allowance_mm((PageText(1, 210.0, 297.0, lines),), "en")[0] == 10.0


def test_knitting_says_nothing() -> None:
    text = "Sew the side seams with mattress stitch. Work 2 cm in rib. Gauge: 22 sts = 10 cm."
    assert seam_allowance_mm(pages_of_text(text), "en") == (None, "")


@pytest.mark.parametrize(
    "text",
    [
        "seam allowance " * 70_000,
        "1" * 1_000_000,
        "1/" * 500_000,
        '1 cm (3/8") seam allowance, ' * 35_000,
        "a" * 1_000_000,
        " " * 1_000_000,
        "縫い代" * 300_000,
    ],
    ids=lambda text: text[:10],
)
def test_hostile_text_costs_bounded_time(text: str) -> None:
    started = time.process_time()
    seam_allowance_mm(pages_of_text(text), None)
    assert time.process_time() - started < 8


@settings(deadline=None, max_examples=60)
@given(st.integers(3, 40), st.sampled_from(["mm", " mm"]))
def test_any_width_in_millimetres(mm: int, unit: str) -> None:
    text = f"All seam allowances are {mm}{unit} and are included."
    assert seam_allowance_mm(pages_of_text(text), "en")[0] == mm
