"""The terms as ODRL 2.2 policies (W3C Recommendations of 15 February 2018), JSON-LD, so that they outlive this program.

One policy of type Set for each version of the terms.  Only what the words state becomes a rule; what merely follows, is
silent or unclear becomes none.  The words stand in the policy (`dct:description`, "act: words"), not in rules, which
strict validators want free of anything else.  ODRL has no word for teaching or for sewing for hire: both are `use` with
a purpose.  Selling means finished pieces, an asset of their own.

| answer | becomes |
|---|---|
| yes | permission |
| no | prohibition |
| up to N | permission with the constraint `count lteq N` (the period stands in the words: ODRL counts in all) |
| only with a licence | permission with the duty `obtainConsent` |
| credit asked for | duty `attribute` on what is permitted |
"""

from __future__ import annotations

import base64
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from vault.licences.versions import Version
from vault.model.licence import Act, Clause, Ruling, TermsSeen

CONTEXT = "http://www.w3.org/ns/odrl.jsonld"
# Deprecated in ODRL 2.2 (Vocabulary, appendix on deprecated terms); never written.
DEPRECATED = frozenset(
    "commercialize share shareAlike copy export license pay append appendTo write attachPolicy attachSource device"
    " system lend lease secondaryUse".split()
)
_PIECES = "#pieces"
# act -> action, the part of the work that it is done to, the purpose that ODRL has no action for
_ACTIONS: dict[Act, tuple[str, str, str | None]] = {
    Act.USE: ("use", "", "personal use"),
    Act.SELL: ("sell", _PIECES, None),
    Act.TEACH: ("use", "", "teaching"),
    Act.SHARE: ("distribute", "", None),
    Act.ALTER: ("modify", "", None),
    Act.PRINT: ("print", "", None),
    Act.HIRE: ("use", "", "making pieces for somebody who pays"),
}


@dataclass(frozen=True, kw_only=True)
class Work:
    """What the policies are about: the item's id and title, who made it, the digests of its files."""

    item_id: str
    title: str
    designer: str | None = None
    digests: tuple[str, ...] = ()


def ni(sha256: str) -> str:
    """The name of bytes by their digest (RFC 6920): ni:///sha-256;..."""
    return "ni:///sha-256;" + base64.urlsafe_b64encode(bytes.fromhex(sha256)).decode("ascii").rstrip("=")


def document(work: Work, versions: Sequence[Version]) -> dict[str, Any]:
    """The policies of an item as one JSON-LD document: the policy itself, or a graph of several."""
    policies = [policy(work, version) for version in versions if _rules(version)]
    if len(policies) == 1:
        return {"@context": CONTEXT, **policies[0]}
    return {"@context": CONTEXT, "@graph": policies}


def policy(work: Work, version: Version) -> dict[str, Any]:
    """One version of the terms as a policy."""
    first = version.seen[0]
    made: dict[str, Any] = {
        "uid": _urn(work.item_id, *sorted(s.id for s in version.seen)),
        "@type": "Set",
        "dct:title": work.title,
        "conflict": "prohibit",
    }
    if first.seen_on:
        made["dct:issued"] = {"@value": first.seen_on.isoformat(), "@type": "xsd:date"}
    if work.designer:
        made["dct:creator"] = work.designer
    sources = [{"@id": ni(s.sha256)} for s in version.seen if s.sha256]
    if sources:
        made["dct:source"] = sources
    words = [f"{c.act.value}: {q.text}" for c in _rules(version) for q in c.quotes]
    if words:
        made["dct:description"] = list(dict.fromkeys(words))
    for clause in _rules(version):
        key = "prohibition" if clause.ruling is Ruling.NO else "permission"
        made.setdefault(key, []).append(_rule(work, clause, first))
    return made


def _rules(version: Version) -> list[Clause]:
    return [
        c
        for c in version.clauses
        if c.act in _ACTIONS and not c.general and c.ruling not in (Ruling.SILENT, Ruling.UNCLEAR)
    ]


def _rule(work: Work, clause: Clause, source: TermsSeen) -> dict[str, Any]:
    action, part, purpose = _ACTIONS[clause.act]
    rule: dict[str, Any] = {"target": _asset(work, part), "action": action}
    constraints: list[dict[str, Any]] = []
    if purpose:
        constraints.append({"leftOperand": "purpose", "operator": "eq", "rightOperand": purpose})
    if clause.ruling is Ruling.LIMITED and clause.limit is not None:
        limit = {"@value": str(clause.limit), "@type": "xsd:integer"}
        constraints.append({"leftOperand": "count", "operator": "lteq", "rightOperand": limit})
    if source.until and clause.ruling is not Ruling.NO:
        last = {"@value": source.until.isoformat(), "@type": "xsd:date"}
        constraints.append({"leftOperand": "dateTime", "operator": "lteq", "rightOperand": last})
    if constraints:
        rule["constraint"] = constraints
    duties = []
    if clause.ruling is Ruling.WITH:
        duties.append({"action": "obtainConsent"})
    if source.credit and clause.act is Act.SELL and clause.ruling is not Ruling.NO:
        duties.append({"action": "attribute"})
    if duties:
        rule["duty"] = duties
    return rule


def _asset(work: Work, part: str) -> dict[str, Any]:
    if part == _PIECES:
        return {"uid": _urn(work.item_id) + part, "@type": "Asset", "dct:title": f"pieces made from {work.title}"}
    asset: dict[str, Any] = {"uid": _urn(work.item_id), "@type": "Asset", "dct:title": work.title}
    if work.digests:
        asset["dct:hasPart"] = [{"@id": ni(d)} for d in work.digests]
    return asset


def _urn(*parts: str) -> str:
    return uuid.uuid5(uuid.NAMESPACE_URL, "pinfold:" + "\0".join(parts)).urn
