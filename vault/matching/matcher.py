"""Matching as a whole: files are weighed against their candidate pairs, decided, and brought together item by item.

The steps are those of record linkage: blocking (`index`), comparison (`evidence`), decision (`deciding`), and clerical
review, which here is a question.  Everything that is decided about a file depends on the bought side, the answers and
the files that lie with it, never on the order of import; so one more file costs only itself and its neighbours.
"""

from __future__ import annotations

import gc
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace

from vault.matching.asking import most_telling_first, ties
from vault.matching.deciding import OUT_OF_REACH, Answers, Outcome, Scored, decide, score01, scored
from vault.matching.evidence import weigh
from vault.matching.filed import Filed
from vault.matching.hearing import Evidence
from vault.matching.hints import on_the_day
from vault.matching.index import Index
from vault.matching.parts import link_part
from vault.matching.standing import Held, standing
from vault.matching.targets import prepare
from vault.matching.taught import NOTHING, learn
from vault.matching.together import Groups, told_by_mates, with_added
from vault.matching.weights import ASK, LINK, MOST_ASKED, MOST_NEAR, WEIGHTS, Weight
from vault.model.match import Answer, Candidate, Link, MatchItem, MatchResult, Question, Reason, Standing
from vault.model.pattern import PatternFile
from vault.model.purchase import ItemState


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Without the collector of cycles: nothing here makes any, and it would walk over a large vault again and again."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


class Matcher:
    """Items and answers, to which files are added; `result` may be asked for at any time."""

    def __init__(
        self, items: Iterable[MatchItem], answers: Iterable[Answer] = (), *, weights: Mapping[str, Weight] = WEIGHTS
    ) -> None:
        self._items = tuple(items)
        self.answers = Answers(answers)
        self.weights = weights
        self._named: dict[str, PatternFile] = {}  # the files that she named in her answers
        self._taught = NOTHING
        self._begin()

    def _begin(self) -> None:
        self.bought = prepare(self._items, self._taught)
        self._index = Index(self.bought)
        self._filed: dict[str, Filed] = {}
        self._groups = Groups()
        self._alone: dict[str, dict[int, Evidence]] = {}  # evidence of each file by itself
        self._own: dict[str, tuple[int, ...]] = {}  # targets it is linked to by that
        self._own_of_item: dict[str, set[str]] = defaultdict(set)
        self._waiting: dict[str, set[str]] = defaultdict(set)  # by purchase: files that its other items may tell
        self._near: dict[str, dict[str, str]] = defaultdict(dict)  # by item: other products with nearly its title, why
        self._outcomes: dict[str, Outcome] = {}
        self._of_item: dict[str, set[str]] = defaultdict(set)  # files with an outcome for the item
        self._fresh: set[str] = set()  # files whose outcome is still to be made

    # ---- one file at a time

    def add(self, files: Iterable[PatternFile]) -> None:
        """Adds files; one that is known already by its digest is passed over."""
        with _undisturbed():
            again = False
            for file in files:
                if file.sha256 in self.answers.by_file:
                    again = self._take_note(file) or again
                if file.sha256 not in self._filed and not file.members:  # of a zip the members are matched
                    self._weigh(Filed(file))
            if again:
                # What an answer says or teaches bears also on files that were weighed before.
                known = list(self._filed.values())
                self._begin()
                for filed in known:
                    filed.begin_again()
                    self._weigh(filed)

    def _take_note(self, file: PatternFile) -> bool:
        """Learns from a file that she named in an answer.  Whether that bears on files weighed before."""
        if file.members:
            self.answers.open_zip(file.sha256, file.members)
            return any(m in self._filed for m in file.members)
        self._named[file.sha256] = file
        taught = learn(self._items, self.answers.files, self._named)
        changed = taught != self._taught
        self._taught = taught
        return changed

    def _weigh(self, filed: Filed) -> None:
        """Takes in one file: its evidence by itself, and whom it may concern."""
        sha = filed.sha256
        self._filed[sha] = filed
        self._groups.add(filed)
        alone = {p: weigh(self.bought.targets[p], filed, self.bought) for p in self._index.candidates(filed)}
        filed.speaks = filed.speaks or any(e.own_share for e in alone.values())
        for place, e in alone.items() if filed.unusable is None else ():
            if words := e.nearly(self.weights):
                self._near[self.bought.targets[place].item_id][sha] = words
        alone = {p: e for p, e in alone.items() if e.points(self.weights) >= OUT_OF_REACH}
        self._alone[sha] = alone
        own = self._own[sha] = self._decided_alone(filed, alone)
        for place in own:
            source = self.bought.targets[place].source
            self._own_of_item[source.item.id].add(sha)
            self._fresh.update(self._waiting.get(source.purchase.id, ()))
        self._fresh.add(sha)
        self._fresh.update(self._neighbours(filed))
        filed.release(told=bool(alone))

    def _decided_alone(self, filed: Filed, alone: dict[int, Evidence]) -> tuple[int, ...]:
        told = self.answers.by_file.get(filed.sha256)
        if told:
            return tuple(p for i in sorted(told) for p in self.bought.of_item.get(i, ())[:1])
        outcome = decide(filed, scored(alone, self.weights), self.bought, self.answers)
        return tuple(sorted(s.place for s in outcome.chosen))

    def _alone_in_zip(self, place: int, filed: Filed) -> bool:
        """Whether every other item of the target's order has files of its own outside the zips of `filed`.

        Else what nothing tells in a zip of the order may as well be of those.
        """
        purchase = self.bought.targets[place].source.purchase
        named = purchase.id in self._named_orders(filed)
        others = [i.id for i in purchase.items if i.id != self.bought.targets[place].item_id]
        for item_id in others if named else ():
            if not self.bought.of_item.get(item_id):
                continue
            elsewhere = [s for s in self._own_of_item.get(item_id, ()) if not self._filed[s].zips & filed.zips]
            if not elsewhere:
                self._waiting[purchase.id].add(filed.sha256)
                return False
        return True

    def _named_orders(self, filed: Filed) -> set[str]:
        """Purchases whose order number the zip of the file has in its name."""
        return {p for k in filed.folder_codes for p in self.bought.purchases_of.get(k, ())}

    def _neighbours(self, filed: Filed) -> set[str]:
        near = {s for _, group in self._groups.mates(filed) for s in group}
        return near | set(self._groups.same_content(filed))

    def _settle_fresh(self) -> None:
        for sha in self._fresh:
            filed = self._filed[sha]
            evidence = dict(self._alone[sha])
            if not self._own[sha]:
                told = told_by_mates(filed, self._groups, self._filed, self._alone, self._own, self._alone_in_zip)
                for place, added in told.items():
                    target = self.bought.targets[place]
                    if all(w.key in target.ignore for t in filed.name_titles for w in t.words):
                        added = [e for e in added if e[0] != "same name"]  # named for the maker only
                    before = evidence.get(place) or weigh(target, filed, self.bought)
                    evidence[place] = with_added(before, added)
            outcome = decide(filed, scored(evidence, self.weights), self.bought, self.answers)
            for s in (*self._outcomes.get(sha, Outcome()).chosen, *self._outcomes.get(sha, Outcome()).possible):
                self._of_item[self.bought.targets[s.place].item_id].discard(sha)
            self._outcomes[sha] = outcome
            for s in (*outcome.chosen, *outcome.possible):
                self._of_item[self.bought.targets[s.place].item_id].add(sha)
        self._fresh.clear()

    def look(self, file: PatternFile) -> tuple[tuple[Link, ...], tuple[Candidate, ...]]:
        """Adds one file and says what it alone comes to: its links, and the items' candidates that it is."""
        self.add([file])
        self._settle_fresh()
        outcome = self._outcomes.get(file.sha256, Outcome())
        filed = self._filed.get(file.sha256)
        if filed is None:
            return (), ()
        return (
            tuple(self._link(filed, s) for s in outcome.chosen),
            tuple(self._candidate(filed, s) for s in outcome.possible),
        )

    # ---- everything together

    def result(self) -> MatchResult:
        """Links, questions and standings of all items."""
        with _undisturbed():
            return self._everything()

    def _everything(self) -> MatchResult:
        self._settle_fresh()
        links: list[Link] = []
        questions: list[Question] = []
        standings: list[Standing] = []
        hints = on_the_day(self.bought, self._filed, self._outcomes, self._of_item, self.answers)
        for source in self.bought.items:
            own_links, question, state = self._item(source, hints.get(source.item.id))
            links += own_links
            standings.append(state)
            if question is not None:
                questions.append(question)
        links.sort(key=lambda k: (k.item_id, k.part or "", k.sha256))
        sources = {s.item.id: s for s in self.bought.items}
        tied = [ties(q, sources[q.item_id], self._filed.__getitem__) for q in questions]
        ordered = most_telling_first(questions, tied, self.answers.later)
        return MatchResult(links=tuple(links), questions=ordered, standings=tuple(standings))

    def _item(self, source: MatchItem, hint: tuple[str, Scored] | None) -> tuple[list[Link], Question | None, Standing]:
        item_id = source.item.id
        chosen: dict[str, Scored] = {}
        possible: dict[str, Scored] = {}
        for sha in self._of_item.get(item_id, ()):
            outcome = self._outcomes[sha]
            for scored_ones, into in ((outcome.chosen, chosen), (outcome.possible, possible)):
                for s in scored_ones:
                    if self.bought.targets[s.place].item_id == item_id and (
                        sha not in into or into[sha].points < s.points
                    ):
                        into[sha] = s
        links = [self._link(self._filed[sha], s) for sha, s in chosen.items()]
        held = [Held(self._filed[sha], self.bought.targets[s.place].member) for sha, s in chosen.items()]
        hers = self.answers.files.get(item_id, frozenset())
        unsure = frozenset[str]()
        if chosen and not hers and not any(h.file.shows_pattern for h in held):
            # Nothing here shows that it is a pattern: a question, not a held item.
            unsure = frozenset(chosen)
            possible |= {sha: self._doubted(s) for sha, s in chosen.items()}
            links, held = [], []
        for sha in sorted(hers):
            links, held = self._with_answer(item_id, sha, links, held)
        barred = [self._filed[s] for s in sorted(possible) if self._filed[s].unusable and possible[s].points >= LINK]
        if hint is not None:
            possible.setdefault(*hint)
        said_none = item_id in self.answers.rejected
        promised = self.bought.promised[item_id]
        held.sort(key=lambda h: h.file.sha256)
        state = standing(source, promised, held, barred, asked=0, said_none=said_none)
        wanted = self._worth_asking(source, state, possible, {k.sha256 for k in links}, unsure)
        if hers or not wanted:
            return links, None, replace(state, why=(*state.why, *self._nearly(source, state)))
        state = standing(source, promised, held, barred, asked=len(wanted), said_none=said_none)
        question = Question(id=f"q{item_id}", item_id=item_id, candidates=wanted)
        return links, question, state

    def _with_answer(
        self, item_id: str, sha: str, links: list[Link], held: list[Held]
    ) -> tuple[list[Link], list[Held]]:
        filed = self._filed.get(sha)
        if filed is None:
            return links, held  # the answer waits for the file
        before = next((k for k in links if k.sha256 == sha), None)
        words = self.weights["you said so"]
        reason = Reason(name=words.name, words=words.words, weight=words.points)
        part = before.part if before else link_part(filed.parts)
        hers = Link(
            item_id=item_id,
            sha256=sha,
            part=part,
            score=1.0,
            settled="user",
            reasons=(reason, *(before.reasons if before else ())),
        )
        if before is None and filed.unusable is None:
            held = [*held, Held(filed, None)]
        return [*(k for k in links if k.sha256 != sha), hers], held

    def _worth_asking(
        self,
        source: MatchItem,
        state: Standing,
        possible: Mapping[str, Scored],
        linked: set[str],
        unsure: frozenset[str],
    ) -> tuple[Candidate, ...]:
        """Candidates for a question: usable files that are linked nowhere and could change the item's state."""
        if state.state not in (ItemState.MISSING, ItemState.PARTIAL):
            return ()
        open_ones = []
        for sha, s in possible.items():
            filed = self._filed[sha]
            chosen = sha not in unsure and bool(self._outcomes.get(sha, Outcome()).chosen)
            elsewhere = chosen or sha in self.answers.by_file
            if filed.unusable or elsewhere or sha in linked or s.points < ASK:
                continue
            if state.state is ItemState.PARTIAL and not self._may_fill(source.item.id, filed, state.lacking):
                continue
            open_ones.append((sha, s))
        open_ones.sort(key=lambda e: (-e[1].points, self._filed[e[0]].name, e[0]))
        return tuple(self._candidate(self._filed[sha], s) for sha, s in open_ones[:MOST_ASKED])

    def _nearly(self, source: MatchItem, state: Standing) -> list[str]:
        """For a missing item, the files that come near it and are something else: told, not asked about."""
        if state.state is not ItemState.MISSING:
            return []
        near = [
            (self._filed[sha].name, words)
            for sha, words in self._near.get(source.item.id, {}).items()
            if not self._outcomes[sha].chosen
        ]
        return [f"{name} comes near, but {words}" for name, words in sorted(near)[:MOST_NEAR]]

    @staticmethod
    def _doubted(s: Scored) -> Scored:
        return replace(s, evidence=with_added(s.evidence, [("perhaps not a pattern", ())]))

    def _may_fill(self, item_id: str, filed: Filed, lacking: Sequence[str]) -> bool:
        if not filed.parts:
            return True
        wanted = [p for p in self.bought.promised[item_id] if p.words in lacking]
        return any(not p.parts or p.parts & filed.parts for p in wanted)

    def _link(self, filed: Filed, s: Scored) -> Link:
        target = self.bought.targets[s.place]
        part = target.member if target.member is not None else link_part(filed.parts)
        reasons = s.evidence.reasons(self.weights)
        return Link(item_id=target.item_id, sha256=filed.sha256, part=part, score=score01(s.points), reasons=reasons)

    def _candidate(self, filed: Filed, s: Scored) -> Candidate:
        return Candidate(sha256=filed.sha256, score=score01(s.points), reasons=s.evidence.reasons(self.weights))


def match(
    items: Sequence[MatchItem],
    files: Sequence[PatternFile],
    answers: Sequence[Answer] = (),
    *,
    weights: Mapping[str, Weight] = WEIGHTS,
) -> MatchResult:
    """Links items and files.

    Nothing depends on the order of `items`, `files` or `answers`.  A link made without asking has no stop against it
    and no other item near it; what falls short of that is a question, or nothing.  Answers are never overridden.
    """
    matcher = Matcher(items, answers, weights=weights)
    matcher.add(sorted(files, key=lambda f: f.sha256))
    return matcher.result()
