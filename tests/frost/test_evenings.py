"""Evenings and the minima that followed, from a file to the night model."""

import pytest

from scheduler.frost import dew_point_c, evening_rows, fit_night_model
from scheduler.holding.frost_data import package_frost_data
from scheduler.weather import read_evenings
from tests.frost.test_night import T0, TD, TN

HEADER = "date,temperature_c,dew_point_c,humidity_pct,tmin_c"


def test_the_example_of_the_book_comes_through_a_file() -> None:
    # Snyder and de Melo-Abreu 2005, vol. 1, ch. 5, as in test_night
    lines = ["# radiation nights", "date,temperature_c,dew_point_c,tmin_c"]
    lines += [
        f"2027-03-{day:02d},{t0},{td},{tn}"
        for day, (t0, td, tn) in enumerate(zip(T0, TD, TN, strict=True), start=1)
    ]
    nights, faults = read_evenings("nights.csv", lines)
    assert faults == []
    assert nights is not None
    model = fit_night_model(evening_rows(nights), package_frost_data())
    assert model.minimum_c(10, 2) == pytest.approx(-0.7409219, abs=5e-8)


def test_humidity_stands_in_for_the_dew_point() -> None:
    nights, _ = read_evenings("n.csv", [HEADER, "2027-03-01,8,,60,-1"])
    assert nights is not None
    assert evening_rows(nights)[0].tolist() == pytest.approx([8, dew_point_c(8, 60), -1])


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ("2027-03-01,8,,,-1", "dew_point_c"),
        ("2027-03-01,8,,0,-1", "humidity_pct"),
        ("2027-03-01,8,2,,", "tmin_c"),
        ("2027-02-30,8,2,,-1", "date"),
    ],
)
def test_a_faulty_evening_is_told_with_its_row(row: str, field: str) -> None:
    nights, (fault, *_) = read_evenings("n.csv", [HEADER, row])
    assert nights is None
    assert (fault.rows, fault.field) == ((2,), field)


def test_a_file_of_no_evenings_gives_none_to_fit_on() -> None:
    nights, faults = read_evenings("n.csv", [HEADER])
    assert faults == []
    assert nights is not None
    with pytest.raises(ValueError, match="0 complete nights"):
        fit_night_model(evening_rows(nights), package_frost_data())


def test_a_file_with_other_columns_is_a_fault() -> None:
    nights, (fault,) = read_evenings("n.csv", ["date,t"])
    assert nights is None
    assert "temperature_c" in fault.allowed
