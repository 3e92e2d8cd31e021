"""What would change an answer."""

from datetime import date

from scheduler.frost import Exposed, changes_of
from scheduler.frost.risk import risk_of
from scheduler.terms import Season
from tests.frost.records import ask, milwaukee

APRIL = date(2027, 4, 20)


def _exposed(plant: str, hurt_at_c: float) -> Exposed:
    return Exposed(plant, "growth", hurt_at_c, "new growth", "made up")


def test_more_tolerance_a_warmer_plot_and_hardier_stock_close_earlier() -> None:
    risk = ask(milwaukee())
    now = risk.closes_after(APRIL)
    assert now is not None
    stock = (_exposed("banana", 0.0), _exposed("lemon", -2.0))
    found = {
        (what, value): other.closes_after(APRIL) for what, value, other in changes_of(risk, stock)
    }
    assert set(found) == {
        ("tolerance", 0.05),
        ("tolerance", 0.2),
        ("tolerance", 0.5),
        ("offset", -1.0),
        ("offset", 1.0),
        ("stock", -2.0),
    }
    closes = {key: day for key, day in found.items() if day is not None}
    assert closes["tolerance", 0.05] > now > closes["tolerance", 0.2] > closes["tolerance", 0.5]
    assert closes["offset", -1.0] > now > closes["offset", 1.0]
    # at 2 degrees below, the window of Milwaukee has closed by 20 April
    assert found["stock", -2.0] == ask(milwaukee(), threshold_c=-2.0).closes_after(APRIL)


def test_stock_that_is_all_as_tender_changes_nothing() -> None:
    risk = ask(milwaukee())
    stock = (_exposed("a", 0.0), _exposed("b", 0.0))
    assert "stock" not in {what for what, *_ in changes_of(risk, stock)}


def test_without_a_record_nothing_can_be_told() -> None:
    risk = risk_of(
        None,
        threshold_c=0.0,
        offset_c=0.0,
        tolerance=0.1,
        season=Season(APRIL, 30),
        southern=False,
        own_last="05-10",
    )
    assert list(changes_of(risk)) == []
