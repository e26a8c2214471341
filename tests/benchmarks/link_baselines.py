"""Baselines for matching on the gold pairs: a plain string comparison, and a general record-linkage library.

The library is `recordlinkage` 0.16 (PyPI, BSD), which is no dependency of Pinfold, for it brings pandas and
scikit-learn; to see its figures:

    python -m venv --system-site-packages /some/where && /some/where/bin/pip install recordlinkage
    /some/where/bin/python tests/benchmarks/bench_matching.py --pairs

It gets the same pairs (blocked by scene) and the same fields: title against the title in the document, in the metadata
and in the file name, the maker, the order number against the stamp, the product code.  Its two classifiers are the
unsupervised one of Fellegi and Sunter (weights by expectation maximisation) and a logistic regression that, unlike
everything else here, is trained on the gold pairs (five-fold, whole scenes left out).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scenes import Scene

Pair = tuple[str, str]


@dataclass(frozen=True, kw_only=True)
class Row:
    """What one method made of the pairs."""

    name: str
    right: int
    wrong: int
    wanted: int

    @property
    def precision(self) -> float:
        """Right links of all links."""
        return self.right / max(1, self.right + self.wrong)

    @property
    def recall(self) -> float:
        """Links made of those to be made."""
        return self.right / max(1, self.wanted)


def truth_of(gold: list[Scene]) -> dict[Pair, str]:
    """Item id and digest -> "same", "different" or "ask"; a pair that is not there is different."""
    return {(s.item_id(p.item), s.digest(p.file)): p.truth for s in gold for p in s.pairs}


def row(name: str, links: set[Pair], truth: dict[Pair, str]) -> Row:
    """The figures of one set of links."""
    right = sum(truth.get(k) == "same" for k in links)
    return Row(name=name, right=right, wrong=len(links) - right, wanted=sum(t == "same" for t in truth.values()))


def token_ratio(gold: list[Scene], least: float) -> set[Pair]:
    """The best token ratio of title and file, from `least` on."""
    from rapidfuzz import fuzz, utils

    links = set()
    for scene in gold:
        for file in scene.files:
            sighting = file.sightings[0]
            texts = [file.facts.title or "", (sighting.inside or sighting.path).rsplit("/", 1)[-1].removesuffix(".pdf")]
            ratios = {
                m.item.id: max(
                    fuzz.token_set_ratio(m.item.title, t, processor=utils.default_process) for t in texts if t
                )
                for m in scene.items
            }
            item_id, best = max(ratios.items(), key=lambda e: (e[1], e[0]))
            if best >= least:
                links.add((item_id, file.sha256))
    return links


def library(gold: list[Scene]) -> Iterator[tuple[str, set[Pair]]]:
    """The links of the record-linkage library, by classifier.  Raises ImportError where it is not installed."""
    import pandas
    import recordlinkage
    from sklearn.model_selection import GroupKFold

    bought, held = _frames(gold, pandas)
    indexer = recordlinkage.Index()
    indexer.block("scene")
    pairs = indexer.index(bought, held)
    compare = recordlinkage.Compare()
    for field in ("title", "metadata", "name"):
        compare.string("title", field, method="jarowinkler", label=field)
    compare.string("maker", "maker", method="jarowinkler", label="maker")
    compare.exact("order", "order", label="order", missing_value=0)
    compare.exact("code", "code", label="code", missing_value=0)
    features = compare.compute(pairs, bought, held).fillna(0.0)
    ecm = recordlinkage.ECMClassifier(binarize=0.85)
    yield "library, Fellegi-Sunter by EM", set(ecm.fit_predict(features))
    truth = truth_of(gold)
    same = pandas.MultiIndex.from_tuples([p for p in features.index if truth.get(p) == "same"])
    groups = [p[0].rsplit("/", 1)[0] for p in features.index]
    linked: set[Pair] = set()
    for train, test in GroupKFold(5).split(features, groups=groups):
        learner = recordlinkage.LogisticRegressionClassifier()
        known = features.iloc[train]
        learner.fit(known, known.index.intersection(same))
        linked |= set(learner.predict(features.iloc[test]))
    yield "library, logistic regression", linked


def _frames(gold: list[Scene], pandas: object) -> tuple[object, object]:
    bought, held = {}, {}
    for scene in gold:
        for m in scene.items:
            bought[m.item.id] = {
                "scene": scene.id, "title": m.item.title.casefold(), "maker": (m.item.designer or "").casefold(),
                "order": m.purchase.order_number, "code": m.item.product_code,
            }  # fmt: skip
        for file in scene.files:
            facts, sighting = file.facts, file.sightings[0]
            name = (sighting.inside or sighting.path).rsplit("/", 1)[-1].rpartition(".")[0]
            held[file.sha256] = {
                "scene": scene.id, "title": (facts.title or "").casefold(),
                "metadata": facts.metadata.get("Title", "").casefold(),
                "name": name.replace("_", " ").replace("-", " ").casefold(), "maker": (facts.designer or "").casefold(),
                "order": facts.stamp.order_number if facts.stamp else None, "code": facts.product_code,
            }  # fmt: skip
    made = [pandas.DataFrame.from_dict(d, orient="index") for d in (bought, held)]  # type: ignore[attr-defined]
    return made[0], made[1]
