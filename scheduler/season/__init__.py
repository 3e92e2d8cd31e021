"""The walk through the rooms, and what comes of it. Pure: it reads no clock and no disk."""

from scheduler.season.errands import Errand
from scheduler.season.moves import Move
from scheduler.season.outlook import Outlook, outlook_of
from scheduler.season.placed import Published
from scheduler.season.walk import SeasonPlan, plan_season

__all__ = ["Errand", "Move", "Outlook", "Published", "SeasonPlan", "outlook_of", "plan_season"]
