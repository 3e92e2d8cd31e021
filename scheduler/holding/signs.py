"""What the grower sees in plants and weather year for year: tables of ``site.toml``."""

from typing import Literal, TypeAlias

from scheduler.files import fields

SignKind: TypeAlias = Literal["bud-swell", "leaf-out", "flowering", "new-growth", "leaf-fall"]


@fields.table
class Sign:
    """``[[sign]]``: a sign in plants, and its usual day here.

    Args:
        groups: groups of plants that show it.
        sign: buds that swell, leaves that unfold, first flowers, new growth of evergreens,
            or the last leaves that fall.
        on: usual day, MM-DD; set it anew when it is seen.
    """

    groups: tuple[fields.Slug, ...]
    sign: SignKind
    on: fields.MonthDay


@fields.table
class DryMonths:
    """``[[dry]]``: a part of the year that is usually dry here; it may run over New Year.

    Args:
        first: first day, MM-DD.
        last: last day, MM-DD.
    """

    first: fields.MonthDay
    last: fields.MonthDay
