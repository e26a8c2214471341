"""The weakest evidence: a file that nothing tells, saved on the day of an order of which nothing is here.

That is no proof, so it makes a question at most, and only where the day points to one file and one item.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from vault.matching.deciding import Answers, Outcome, Scored
from vault.matching.evidence import weigh
from vault.matching.filed import Filed
from vault.matching.hearing import Evidence
from vault.matching.targets import Bought, Target
from vault.matching.weights import WEIGHTS


def on_the_day(
    bought: Bought,
    filed: Mapping[str, Filed],
    outcomes: Mapping[str, Outcome],
    of_item: Mapping[str, set[str]],
    answers: Answers,
) -> dict[str, tuple[str, Scored]]:
    """By item, the one file that its day points to."""
    files: dict[str, list[Filed]] = defaultdict(list)
    for sha, file in filed.items():
        if outcomes[sha].chosen or outcomes[sha].possible or sha in answers.by_file or not _tells_nothing(file):
            continue
        for day in file.days:
            files[day].append(file)
    days = {day: found[0] for day, found in files.items() if len(found) == 1 and len(found[0].days) == 1}
    open_items: dict[str, list[Target]] = defaultdict(list)
    for places in bought.of_item.values():
        target = bought.targets[places[0]] if places else None
        if target is None or target.day is None or not _open(target, of_item, answers):
            continue
        open_items[target.day.isoformat()].append(target)
    out: dict[str, tuple[str, Scored]] = {}
    for day, targets in open_items.items():
        if len(targets) != 1 or day not in days:
            continue
        target, file = targets[0], days[day]
        if answers.forbids(target.item_id, file.sha256):
            continue
        evidence = Evidence(list(weigh(target, file, bought).found))
        evidence.add("same day")
        if not evidence.stops() and evidence.points() >= WEIGHTS["same day"].points - 0.5:
            out[target.item_id] = (file.sha256, Scored(target.place, evidence.points(), (), evidence))
    return out


def _tells_nothing(file: Filed) -> bool:
    return file.nameless and file.unusable is None and file.facts.is_pattern is not False and not file.orders


def _open(target: Target, of_item: Mapping[str, set[str]], answers: Answers) -> bool:
    item, purchase = target.source.item, target.source.purchase
    gone = item.refunded or purchase.refunded is True or purchase.cancelled
    return not gone and not of_item.get(target.item_id) and target.item_id not in answers.files
