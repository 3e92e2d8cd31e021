"""The room stays as quick as a command needs it to be."""

from functools import partial

from tests.bench.bench_frost import all_tables, best_s, many_plots, record_lines


def test_thirty_years_are_read_and_in_all_tables_in_under_three_tenths_of_a_second() -> None:
    assert best_s(partial(all_tables, record_lines(30)), 3) < 0.3


def test_ten_thousand_plots_of_one_station_cost_less_than_a_thousandth_of_it_each() -> None:
    # measured 65 microseconds each; the bound is for a slow and busy machine
    climate = all_tables(record_lines(31))
    assert best_s(partial(many_plots, climate, 0.0), 1) < 10_000 * 0.0003
