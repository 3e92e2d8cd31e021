"""The season as plain values for programs: stable keys, ISO dates, units in the names."""

import math
from dataclasses import asdict
from datetime import date, datetime
from typing import Any

from scheduler.reasons import SeasonPlan
from scheduler.roster import Stint, VisitDays
from scheduler.season import Placed
from scheduler.sky import Sky
from scheduler.stand import LineMulch, PlotDue, StratumDue, Task, conditions_of, held_back
from scheduler.terms import Notice
from scheduler.windows import concerns_of
from scheduler.words import phrases
from scheduler.words.aim_words import aim_records
from scheduler.words.due_sheet import HARVEST_YEARS, dues_of
from scheduler.words.material_words import mass_range_of, mulches_of
from scheduler.words.roster_words import heavy_hours, hire_record, preference_records
from scheduler.words.short import HEAVY, heavy_days_of
from scheduler.words.spare_words import spare_record
from scheduler.words.work_words import facts_of, harvests_in, removals_in

Record = dict[str, Any]


def sky_record(sky: Sky) -> Record:
    """Instants and days of the sky."""
    return {
        "events": [
            {
                "event": event.event.value,
                "utc": event.utc.isoformat().replace("+00:00", "Z"),
                "local": event.local.isoformat(),
            }
            for event in sky.events
        ],
        "days": [
            {
                "date": day.isoformat(),
                "sunrise": _times(sky.sunrise[at]),
                "sunset": _times(sky.sunset[at]),
                "civil_dawn": _times(sky.civil_dawn[at]),
                "civil_dusk": _times(sky.civil_dusk[at]),
                "ground_dawn": _times(sky.ground_dawn[at]),
                "ground_dusk": _times(sky.ground_dusk[at]),
                "moonrise": _times(sky.moonrise[at]),
                "moonset": _times(sky.moonset[at]),
                "sun_state": sky.sun_state[at].value,
                "moon_state": sky.moon_state[at].value,
                "day_length_h": round(float(sky.day_length_h[at]), 4),
                "ground_light_h": round(float(sky.ground_light_h[at]), 4),
                "lit_fraction": round(float(sky.lit_fraction[at]), 4),
                "elongation_deg": round(float(sky.elongation_deg[at]), 4),
                "waxing": bool(sky.waxing[at]),
                "winter_months": round(float(sky.winter_months[at]), 4),
            }
            for at, day in enumerate(sky.season)
        ],
    }


def due_record(plan: Placed) -> Record:
    """What each plot needs."""
    return {
        "as_of": plan.outlook.as_of.isoformat(),
        "plots": [_plot_due(due, plan) for due in dues_of(plan)],
        "holding": [_task(t, plan) for t in plan.tasks.values() if t.plot is None],
    }


def _plot_due(due: PlotDue, plan: Placed) -> Record:
    plot = due.plot
    return {
        "plot": plot.id,
        "reasons": list(due.reasons),
        "released": _iso(due.released),
        "light_at_alley": round(due.light, 4),
        "light_at_alley_today": round(due.light_now, 4),
        "light_after_cuts": round(due.light_after, 4),
        "light_wanted": due.light_wanted,
        "cover": [_stratum_due(stratum) for stratum in due.strata],
        "tasks": [_task(t, plan) for t in plan.tasks.values() if t.plot_id == plot.id],
        "removals": [
            {
                "plant": removal.support.plant,
                "successor": removal.successor.plant,
                "by_year": {str(year): count for year, count in removal.by_year},
                "asked": removal.asked,
            }
            for removal in removals_in(plot, plan)
        ],
        "harvests": [
            {
                "plant": harvest.plant,
                "year": harvest.year,
                "low_kg": round(harvest.low_kg, 1),
                "high_kg": round(harvest.high_kg, 1),
            }
            for harvest in harvests_in(plot, plan, HARVEST_YEARS)
        ],
        "held_back_from_release": [
            {
                "plant": held.stock.plant,
                "count": held.stock.count,
                "until": held.until,
                "why": held.why,
            }
            for held in held_back(plot, "release", plan.holding)
        ],
    }


def _stratum_due(stratum: StratumDue) -> Record:
    cover = stratum.cover
    return {
        "stratum": cover.stratum,
        "share": round(cover.share, 4),
        "share_after": round(stratum.after, 4),
        "grown_share": round(stratum.grown, 4),
        "target": cover.target,
        "trigger": cover.trigger,
        "passes_trigger": _iso(stratum.on),
        "passes_trigger_early": _iso(stratum.early),
        "passes_trigger_late": _iso(stratum.late),
        "cuts_a_year": _rounded(stratum.cuts_a_year),
        "cuts_a_year_if_cut_low": _rounded(stratum.cuts_low),
        "cuts_a_year_if_let_run": _rounded(stratum.cuts_high),
    }


def _line_mulch(mulch: LineMulch) -> Record:
    return {
        "line": mulch.line.id,
        "area_m2": round(mulch.area_m2, 1),
        "bare_m2": round(mulch.bare_m2, 2),
        "layers": [
            {
                "layer": laid.layer.id,
                "fresh_kg": round(laid.kg, 1),
                "volume_m3": round(laid.volume_m3, 3),
                "depth_cm": round(laid.depth_cm, 2),
            }
            for laid in mulch.layers
        ],
        "old_cm": round(mulch.old_cm, 2),
        "short_kg": round(mulch.short_kg, 1),
        "surplus_kg": round(mulch.surplus_kg, 1),
        "feed_on": _iso(mulch.feed_on),
        "feed_early": _iso(mulch.feed_early),
        "feed_late": _iso(mulch.feed_late),
    }


def _task(task: Task, plan: Placed) -> Record:
    return {
        "task": task.id,
        "title": task.title,
        "visit": task.type.visit,
        "work_h": round(task.hours.usual, 2),
        "work_low_h": round(task.hours.low, 2),
        "work_high_h": round(task.hours.high, 2),
        "hours_basis": "own log" if task.learned else "book",
        "hours_source": plan.holding.rules.rates[task.type.rate].source,
        "log_jobs": task.learned.n if task.learned else 0,
        "batches": [
            {"line": b.line, "tool": b.tool, "count": b.count, "work_h": round(b.hours, 2)}
            for b in task.batches
        ],
        "team": dict(task.team),
        "hired": list(task.hired),
        "material_fresh_kg": round(task.material.fresh_kg, 1),
        "material_range_kg": [round(kg, 1) for kg in mass_range_of(task, plan)],
        "mulch_lines": [_line_mulch(mulch) for mulch in mulches_of(task, plan)],
        "conditions": list(conditions_of(task.stock, plan.holding.rules)),
        "to_weigh": [
            {
                "rule": concern.rule_id,
                "switch": concern.switch,
                "says": concern.words,
                "source": concern.source,
                "conflict": concern.conflict,
                "days": [[s.first.isoformat(), s.last.isoformat()] for s in concern.spans],
                "clear_days": [[s.first.isoformat(), s.last.isoformat()] for s in concern.free],
            }
            for concern in concerns_of(plan.windows[task.id], facts_of(plan))
        ],
        "cautions": list(task.cautions),
        "done_percent": plan.progress[task.id].percent if task.id in plan.progress else 0,
    }


def roster_record(plan: SeasonPlan) -> Record:
    """The crew's days."""
    return {
        "as_of": plan.placed.outlook.as_of.isoformat(),
        "plan": plan.placed.holding.plan.id,
        "proof": plan.placed.roster.proof,
        "gap": round(plan.placed.roster.gap, 4),
        "heavy_days": [
            {**asdict(row), "first": row.first.isoformat(), "last": row.last.isoformat()}
            for row in heavy_days_of(plan.placed)
            if row.kind == HEAVY
        ],
        "aims": aim_records(plan.placed.roster),
        "visits": [_visit(visit, plan.placed) for visit in plan.placed.visits.values()],
        "bookings": [
            {
                "booking": errand.id,
                "title": errand.title,
                "on": errand.on.isoformat(),
                "needed": _iso(errand.needed),
                "late": errand.late,
            }
            for errand in plan.errands
        ],
        "left_out": list(plan.placed.roster.left_out),
        "spare_time": spare_record(plan.placed.outlook.spare),
        "preferences": preference_records(plan.placed),
        "hires": [hire_record(use, plan.placed) for use in plan.placed.roster.hires],
        "moved": [
            {
                "visit": move.visit_id,
                "was": move.was.isoformat(),
                "now": _iso(move.now),
                "because": move.because,
            }
            for move in plan.moves
        ],
        "notices": notice_records(plan.notices),
    }


def _visit(visit: VisitDays, plan: Placed) -> Record:
    """One visit: its days, its steps, and how long it lies open."""
    ids = [t for t in plan.groups[visit.visit_id] if t in plan.stints]
    task = plan.tasks[ids[0]]
    days = range(visit.first, visit.last + 1)
    heavy_h, waning_h = heavy_hours(visit.visit_id, plan)
    stints = [plan.stints[task_id] for task_id in ids]
    return {
        "visit": visit.visit_id,
        "plot": task.plot_id,
        "kind": task.type.visit,
        "title": phrases.visit_title(visit.visit_id, days, plan, 1, 1),
        "first": plan.season.date_of(visit.first).isoformat(),
        "last": plan.season.date_of(visit.last).isoformat(),
        "span_days": visit.span_days,
        "least_span_days": visit.least_span_days,
        "open_longer": list(phrases.wait_words(plan, visit.visit_id)),
        "work_h": round(sum(sum(stint.hours) for stint in stints), 2),
        "heavy_h": round(heavy_h, 2),
        "heavy_waning_h": round(waning_h, 2),
        "frost_window_open": phrases.reach_on(visit.visit_id, days, plan) is not None,
        "steps": [_step(stint, plan) for stint in stints],
    }


def _step(stint: Stint, plan: Placed) -> Record:
    task = plan.tasks[stint.step_id]
    return {
        "task": task.id,
        "title": task.title,
        "days": [
            {
                "date": plan.season.date_of(day).isoformat(),
                "work_h": round(hours, 2),
                "people": list(people),
            }
            for day, hours, people in zip(stint.days, stint.hours, stint.people, strict=True)
        ],
        "hired": list(task.hired),
    }


def notice_records(notices: tuple[Notice, ...]) -> list[Record]:
    """Notices, with their stable codes."""
    return [
        {
            "code": n.code,
            "level": n.level.value,
            "about": n.about,
            "also": list(n.also),
            "says": n.says,
        }
        for n in notices
    ]


def _times(times: tuple[datetime, ...]) -> list[str]:
    return [time.isoformat() for time in times]


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _number(value: float) -> float | None:
    return None if math.isnan(value) else round(float(value), 4)
