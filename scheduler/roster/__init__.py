"""The crew's days: visits placed by an exact solver, checked without it."""

from scheduler.roster.check import Fault, faults_in
from scheduler.roster.problem import HANDS, Kit, Order, Problem, Step, Visit, Worker
from scheduler.roster.result import (
    HireUse,
    Preference,
    Proof,
    Roster,
    Stage,
    Stint,
    VisitDays,
    Wait,
)
from scheduler.roster.solve import solve

__all__ = [
    "HANDS",
    "Fault",
    "HireUse",
    "Kit",
    "Order",
    "Preference",
    "Problem",
    "Proof",
    "Roster",
    "Stage",
    "Step",
    "Stint",
    "Visit",
    "VisitDays",
    "Wait",
    "Worker",
    "faults_in",
    "solve",
]
