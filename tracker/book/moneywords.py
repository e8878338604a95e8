"""Money entries in words, from their bodies alone: one line each, and the facts behind it. Pure.

A body of another version, or of a kind not known here, gives nothing: who asks then shows it as it is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from tracker.book.ledger import estimate_from_json, shares_from_json
from tracker.planning.bounds import Bound, Gaps, goods_words
from tracker.planning.draws import Share
from tracker.planning.estimate import Estimate, Kind
from tracker.planning.labour import hours_text
from tracker.text import clean, listing
from tracker.trade.dates import format_day
from tracker.trade.money import format_money, percent_text

_NOT_THIS_VERSION = (KeyError, TypeError, ValueError, AttributeError)


def money_said(body: Mapping[str, Any]) -> str:
    """The entry in one line; empty when it is not known."""
    try:
        return clean(_said(body))
    except _NOT_THIS_VERSION:
        return ""


def money_facts(body: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """What else the entry holds, as (word, text); empty when it is not known."""
    try:
        return tuple((word, text) for word, text in _facts(body) if text)
    except _NOT_THIS_VERSION:
        return ()


def _said(body: Mapping[str, Any]) -> str:
    match body["what"]:
        case "quote":
            options = [f"{o['label']} {format_money(_total(o))}{_without(o)}" for o in body["options"]]
            return f"quote {body['number']}: {', '.join(options)}"
        case "accepted":
            return f"{body['option']} of quote {body['quote']} accepted"
        case "draws":
            return f"draws agreed: {draws_words(shares_from_json(body['draws']))}"
        case "extra":
            more = body["price_cents"] + body["tax_cents"]
            return f"change {body['number']}: {body['text']}, {'+' if more > 0 else ''}{format_money(more)}"
        case "invoice" | "credit note" as what:
            names = listing([line["draw"] or line["text"] for line in body["lines"]], "and")
            against = f", off invoice {body['against']}" if body.get("against") else ""
            return f"{what} {body['number']}: {format_money(body['cents'])} for {names}{against}"
        case "payment":
            word = "received" if body["cents"] > 0 else "paid back"
            how = f", {body['how']}" if body["how"] else ""
            return f"{word} {format_money(abs(body['cents']))}{how}"
        case "cost":
            return f"{format_money(body['cents'])} spent on {body['phase']}: {body['text']}"
        case "change order":
            return f"change order: {body['reason']}"
    return ""


def _without(option: Mapping[str, Any]) -> str:
    goods = estimate_from_json(option["estimate"]).not_in_price
    return f", {goods_words(len(goods))}" if goods else ""


def _total(option: Mapping[str, Any]) -> int:
    return estimate_from_json(option["estimate"]).total_cents


def _facts(body: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    match body["what"]:
        case "quote":
            yield "stands until", _day(body["stands_until"])
            for option in body["options"]:
                yield f"option {option['label']}", _option(option)
            yield "draws offered", draws_words(shares_from_json(body.get("draws", ())))
        case "accepted":
            yield "quote", str(body["quote"])
            yield "option", body["option"]
            yield "draws", draws_words(shares_from_json(body["draws"]))
        case "draws":
            yield "draws", draws_words(shares_from_json(body["draws"]))
        case "extra":
            yield "price", format_money(body["price_cents"])
            yield "sales tax", format_money(body["tax_cents"]) if body["tax_cents"] else ""
            for cost in body["costs"]:
                hours = f", {hours_text(cost['minutes'])}" if cost.get("minutes") else ""
                yield (
                    "costs us",
                    f"{format_money(cost['cents'])} {cost['kind']} on {cost['phase'] or 'no phase'}{hours}",
                )
            yield "change orders priced", str(len(body["changes"])) if body["changes"] else ""
        case "invoice" | "credit note":
            for line in body["lines"]:
                name = f"{line['draw']}: " if line["draw"] and line["draw"] != line["text"] else ""
                yield "line", f"{name}{line['text']} {format_money(line['cents'])}"
            for draw, day in body.get("signed", {}).items():
                yield "signed off", f"{draw}, {_day(day)}"
            yield "off invoice", str(body["against"]) if body.get("against") else ""
            yield "for", body.get("about", {}).get("client", "")
            yield "words", body.get("text", "")
        case "payment":
            yield "came on", _day(body["on"])
            yield "for invoice", str(body["invoice"]) if body["invoice"] else ""
        case "cost":
            yield "day", _day(body["on"])
        case "change order":
            before, after = body["before"], body["after"]
            yield "material", f"{_material(before)}, then {_material(after)}"
            word, key = ("hand-over", "hand_over") if "hand_over" in after else ("last day", "last_day")
            yield word, f"{_day(before[key])}, then {_day(after[key])}"
            yield "changed", listing(body["parts"], "and")
            yield "to be checked again", listing(body["again"], "and")


def _option(option: Mapping[str, Any]) -> str:
    made = estimate_from_json(option["estimate"])
    said = [
        f"price {format_money(made.price_cents)}",
        f"sales tax {format_money(made.tax_cents)}" if made.tax_cents else "",
        f"client pays {format_money(made.total_cents)}",
        *(f"{kind.value} {_bound(made, kind).money(made.cost_of(kind))}" for kind in Kind if made.cost_of(kind)),
        f"{hours_text(made.minutes_of())} of work",
        f"margin {made.gaps.at_most(percent_text(made.margin_tenths))}",
        ", ".join(f"{key} {value}" for key, value in option["changes"]),
        f"no price for {listing(made.unpriced, 'and')}" if made.unpriced else "",
    ]
    return "; ".join(text for text in said if text)


def _bound(made: Estimate, kind: Kind) -> Bound:
    return made.goods_gaps.cost if kind is Kind.MATERIAL else Bound.EXACT


def _material(standing: Mapping[str, Any]) -> str:
    """What the material came to; an order of an earlier version did not say what had no price."""
    return Gaps(tuple(standing.get("unpriced", ()))).at_least(standing["cost_cents"])


def draws_words(shares: Iterable[Share]) -> str:
    """``deposit 10 %, frame 40 %, final the rest``."""
    return ", ".join(f"{share.name} {_share(share)}" for share in shares)


def _share(share: Share) -> str:
    if share.tenths is not None:
        return share.percent_text
    return format_money(share.cents) if share.cents is not None else "the rest"


def _day(text: str) -> str:
    return format_day(date.fromisoformat(text), None)
