"""The crew's days: visits placed by an exact solver, checked without it."""

from scheduler.roster.conflict import only_rules, proven_full, room_for_all, smallest
from scheduler.roster.ledger import Obstacle
from scheduler.roster.order import circles_of, followers, in_order, keeps_all, tied, with_followers
from scheduler.roster.placements import Block, Packer, Stop
from scheduler.roster.problem import HANDS, Kit, Order, Packed, Problem, Step, Visit, Worker
from scheduler.roster.result import Roster, Stint, VisitDays
from scheduler.roster.solve import solve
from scheduler.roster.teams import CrewTeams
from scheduler.roster.why import Answer, Price, Standing
