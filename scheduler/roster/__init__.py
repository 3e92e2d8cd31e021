"""The crew's days: placed by an exact solver, checked without it."""

from scheduler.roster.check import Fault, faults_in
from scheduler.roster.plan import HireUse, Preference, Proof, Roster, Stage, Stint
from scheduler.roster.problem import HANDS, Job, Kit, Order, Problem, Worker
from scheduler.roster.solve import solve

__all__ = [
    "HANDS",
    "Fault",
    "HireUse",
    "Job",
    "Kit",
    "Order",
    "Preference",
    "Problem",
    "Proof",
    "Roster",
    "Stage",
    "Stint",
    "Worker",
    "faults_in",
    "solve",
]
