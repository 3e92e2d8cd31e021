"""What many tests make alike, made once: seasons, what is told of them, and records.

All are pure, so that whoever asks again with equal content is given the same object. A test that
puts something else into the place of a part below plans with ``plan_season`` itself, for what it
gets is not what the others want.
"""

import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Callable, Iterable
from datetime import date
from types import MappingProxyType
from typing import Any
from weakref import WeakKeyDictionary

from scheduler.calendars import Feed, feeds_of
from scheduler.files import Fault
from scheduler.holding import Holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.season import Published
from scheduler.weather import Record, read_record
from scheduler.words import plain, roster_record

MOST_PLANS = 60  # kept at a time; the one that was asked for longest ago goes first

_plans: OrderedDict[bytes, SeasonPlan] = OrderedDict()
_feeds: WeakKeyDictionary[SeasonPlan, dict[tuple[bool, bool], tuple[Feed, ...]]] = (
    WeakKeyDictionary()
)
_told: WeakKeyDictionary[SeasonPlan, dict[str, Any]] = WeakKeyDictionary()
_records: dict[bytes, Record] = {}


def _key_of(*content: object) -> bytes:
    return hashlib.sha256(pickle.dumps(content)).digest()


def plan_once(
    holding: Holding,
    as_of: date,
    *,
    published: Published = MappingProxyType({}),
    published_later: Callable[[Holding], Published] = lambda _: {},
    tell: Callable[[str], None] = lambda _: None,
) -> SeasonPlan:
    """The season of a holding, as ``plan_season`` gives it."""
    later = published_later(holding.in_plan(holding.following)) if holding.following else {}
    key = _key_of(holding, as_of, dict(published), dict(later))
    if key not in _plans:
        _plans[key] = plan_season(
            holding, as_of, published=published, published_later=published_later, tell=tell
        )
        while len(_plans) > MOST_PLANS:
            _plans.popitem(last=False)
    _plans.move_to_end(key)
    return _plans[key]


def feeds_once(
    plan: SeasonPlan, *, alarms: bool = False, relations: bool = False
) -> tuple[Feed, ...]:
    """The calendars of a season, as ``feeds_of`` gives them."""
    made = _feeds.setdefault(plan, {})
    if (alarms, relations) not in made:
        made[alarms, relations] = feeds_of(plan, alarms=alarms, relations=relations)
    return made[alarms, relations]


def told_once(plan: SeasonPlan) -> dict[str, Any]:
    """What ``roster_record`` tells of a season, as programs get it."""
    if plan not in _told:
        _told[plan] = plain(roster_record(plan))
    return _told[plan]


def record_once(
    name: str, lines: Iterable[str], *, unit: str | None = None, zone: str | None = None
) -> tuple[Record | None, list[Fault]]:
    """The record in a station's file, as ``read_record`` gives it; one at fault is read anew."""
    text = tuple(lines)
    key = _key_of(name, text, unit, zone)
    if key in _records:
        return _records[key], []
    record, faults = read_record(name, text, unit=unit, zone=zone)
    if record is not None and not faults:
        _records[key] = record
    return record, faults
