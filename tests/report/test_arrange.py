"""Numbers, anchors, groups and the two numbers of a finding."""

from __future__ import annotations

from dataclasses import replace

from ifclint.findings import Measure
from ifclint.report.arrange import by_remedy, entries, found_and_required, numbered, plain
from tests.report import samples


def test_numbering_does_not_depend_on_the_order_of_findings() -> None:
    review = samples.full()
    turned = replace(review, findings=review.findings[::-1])
    assert numbered(review) == numbered(turned)
    assert [item.number for item in numbered(review)] == list(range(1, 9))


def test_violations_have_the_number_of_their_correction() -> None:
    review = samples.full()
    first, second, *rest = review.corrections
    both = replace(first, finding_ids=first.finding_ids + second.finding_ids)
    items = numbered(replace(review, corrections=(both, *rest)))
    assert [item.number for item in items] == [1, 1, 2, 3, 4, 5, 6, 7]
    assert [item.leads_to for item in items][:3] == ["correction-1", "correction-1", "correction-2"]
    assert items[4].leads_to == items[4].anchor


def test_anchors_are_made_of_the_id_and_never_twice_the_same() -> None:
    review = samples.full()
    assert numbered(review)[0].anchor == "finding-drain-size-1kTvXnbbzCWw8lcMd1dR4o"
    twice = replace(review, findings=review.findings * 2)
    anchors = [item.anchor for item in numbered(twice)]
    assert len(set(anchors)) == 16
    odd = replace(review, findings=(replace(review.findings[0], id="a b/<c>"),))
    assert [item.anchor for item in numbered(odd)] == ["finding-no-1"]


def test_a_code_that_several_clauses_are_of_is_named_once() -> None:
    review = samples.full()
    (entry, *_) = entries(review, numbered(review))

    def cited(*clauses: str) -> str:
        own = [replace(i, finding=replace(i.finding, clause=c))
               for c, i in zip(clauses, entry.items * 4, strict=False)]  # fmt: skip
        return replace(entry, items=tuple(own)).cited

    assert cited("UPC 2021 703.2") == "UPC 2021 703.2"
    assert cited("UPC 2021 703.2", "UPC 2021 310.5") == "UPC 2021 703.2, 310.5"
    assert cited("UPC 2021 703.2", "IPC 2021 709.1") == "UPC 2021 703.2, IPC 2021 709.1"
    assert cited("UPC 2021 1", "UPC 2021 2", "UPC 2021 3") == "UPC 2021 1, 2, …"
    assert cited("common practice, no clause") == "common practice, no clause"


def test_the_remedy_that_settles_most_comes_first() -> None:
    items = numbered(samples.many(30))
    assert [len(group.items) for group in by_remedy(items)] == [20, 10]


def test_found_and_required_can_be_told_apart() -> None:
    finding = replace(
        samples.full().findings[0],
        measured=Measure(5.0004, "ft"),
        required=Measure(5.0, "ft", "at most"),
    )
    assert found_and_required(finding) == ("5.0004 ft", "at most 5 ft")
    same = replace(finding, measured=Measure(5.0, "ft"))
    assert found_and_required(same) == ("5 ft", "at most 5 ft")
    assert found_and_required(replace(finding, measured=None, required=None)) == ("", "")


def test_text_from_a_model_becomes_one_visible_line() -> None:
    assert plain("a\x1b[2J\r\nb\u202ec\ud800") == "a [2J bc"
    assert plain("x" * 5_000_000, 10) == "xxxxxxxxx…"
    assert plain("Gefälle 2 %") == "Gefälle 2 %"
