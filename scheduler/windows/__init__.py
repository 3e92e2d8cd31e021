"""Each rule says of each day whether a task may stand there, and why."""

from scheduler.windows.concerns import Concern, cautions_on, concerns_of
from scheduler.windows.facts import Facts
from scheduler.windows.frost_rules import release_day
from scheduler.windows.order_of_work import (
    Link,
    after_picking,
    between_rounds,
    gone_before,
    in_place_of,
    left_before,
    links_between,
    not_due,
    second_cut_links,
)
from scheduler.windows.rules import heat_stop_c
from scheduler.windows.task_windows import BY_TODAY, TaskWindow, days_set, window_of
