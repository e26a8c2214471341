"""The ODRL 2.2 export, judged by the W3C's context (data/odrl.jsonld, W3C Document Licence), by rdflib's ODRL2
namespace and by the list of deprecated terms of the ODRL Vocabulary 2.2."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.licences.questions import BOUGHT, NO_SELLING, QUESTIONS, TWENTY_A_YEAR, source
from vault.licences import odrl
from vault.licences.versions import versions
from vault.model.licence import TermsSeen

CONTEXT = json.loads((Path(__file__).parent / "data" / "odrl.jsonld").read_text(encoding="utf-8"))
ODRL = "http://www.w3.org/ns/odrl/2/"
# ODRL Vocabulary 2.2, deprecated terms
DEPRECATED = (
    "commercialize share shareAlike copy export license pay append appendTo write attachPolicy attachSource device"
    " system lend lease secondaryUse"
).split()
WORK = odrl.Work(item_id="i1", title="Gull Wing\nCapelet", designer="Tern & Tide", digests=("ab" * 32,))
EVERYTHING = (
    TWENTY_A_YEAR + " Teaching with this pattern requires our permission. You may not alter this pattern. You may print"
    " it as many times as you like for your own use. Sewing on commission is not allowed."
)


def _document(*sources: TermsSeen) -> dict[str, Any]:
    return odrl.document(WORK, versions(sources))


def _graph(document: dict[str, Any]) -> Any:
    rdflib = pytest.importorskip("rdflib")
    graph = rdflib.Graph()
    return graph.parse(data=json.dumps({**document, **CONTEXT}), format="json-ld")


def test_names_are_current_terms_of_the_vocabulary() -> None:
    rdflib = pytest.importorskip("rdflib")
    used = set()
    for text in (EVERYTHING, NO_SELLING, *(t for q in QUESTIONS for t, _, _ in q.texts)):
        graph = _graph(_document(source(text)))
        used |= {str(x) for triple in graph for x in triple if str(x).startswith(ODRL)}
    assert len(used) > 15
    for name in used:
        assert getattr(rdflib.ODRL2, name.removeprefix(ODRL)) == rdflib.URIRef(name)
        assert name.removeprefix(ODRL) not in DEPRECATED


def test_deprecated_terms_are_known_and_none_can_be_written() -> None:
    assert set(DEPRECATED) == set(odrl.DEPRECATED)
    assert not {action for action, _, _ in odrl._ACTIONS.values()} & odrl.DEPRECATED


def test_every_statement_becomes_its_rule_with_the_words() -> None:
    made = _document(source(EVERYTHING))
    permissions = {p["action"]: p for p in made["permission"]}
    sell = permissions["sell"]
    assert {
        "leftOperand": "count",
        "operator": "lteq",
        "rightOperand": {"@value": "20", "@type": "xsd:integer"},
    } in sell["constraint"]
    assert sell["duty"] == [{"action": "attribute"}]
    assert sell["target"]["uid"].endswith("#pieces")
    assert any(w.startswith("sell: ") and "up to 20 finished garments" in w for w in made["dct:description"])
    assert all(
        set(p) <= {"target", "action", "constraint", "duty"} for p in (*made["permission"], *made["prohibition"])
    )
    assert permissions["print"]["target"]["dct:hasPart"] == [{"@id": odrl.ni("ab" * 32)}]
    teach = next(
        p for p in made["permission"] if p["action"] == "use" and p["constraint"][0]["rightOperand"] == "teaching"
    )
    assert teach["duty"] == [{"action": "obtainConsent"}]
    assert {p["action"] for p in made["prohibition"]} == {"distribute", "modify", "use"}


def test_what_follows_or_is_unclear_becomes_no_rule() -> None:
    assert (
        _document(source("You may sell up to 10 finished items. You may sell up to 25 finished items."))["@graph"] == []
    )
    only = _document(source("For personal use only."))
    assert "prohibition" not in only
    assert [p["action"] for p in only["permission"]] == ["use"]


def test_each_policy_has_what_the_information_model_asks_for() -> None:
    """ODRL Information Model 2.2, 2.1 and 2.2: a policy has one uid, an IRI, and at least one rule; a rule has one
    action and a target; a constraint has one left operand, one operator and a right operand."""
    rdflib = pytest.importorskip("rdflib")
    later = source(NO_SELLING, date(2026, 10, 1))
    graph = _graph(_document(source(EVERYTHING), later))
    o = rdflib.ODRL2
    policies = set(graph.subjects(rdflib.RDF.type, o.Set))
    assert len(policies) == 2
    for policy in policies:
        assert re.match(r"urn:uuid:[0-9a-f-]{36}\Z", str(policy))
        rules = [*graph.objects(policy, o.permission), *graph.objects(policy, o.prohibition)]
        assert rules
        for rule in rules:
            assert len(list(graph.objects(rule, o.action))) == 1
            assert all(isinstance(t, rdflib.URIRef) for t in graph.objects(rule, o.target))
            assert len(list(graph.objects(rule, o.target))) == 1
            for constraint in graph.objects(rule, o.constraint):
                assert [
                    len(list(graph.objects(constraint, p))) for p in (o.leftOperand, o.operator, o.rightOperand)
                ] == [1] * 3
    issued = {str(x) for x in graph.objects(None, rdflib.DCTERMS.issued)}
    assert issued == {BOUGHT.isoformat(), "2026-10-01"}


def test_the_same_terms_give_the_same_document_and_names_are_safe() -> None:
    assert _document(source(EVERYTHING)) == _document(source(EVERYTHING))
    # RFC 6920, section 8.1: "Hello World!"
    hello = "7f83b1657ff1fc53b92dc18148a1d65dfc2d4b1fa3d677284addd200126d9069"
    assert odrl.ni(hello) == "ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"
