"""The data file of the room: faults in it are told like those of any other file."""

from scheduler.holding.frost_data import frost_data_of, package_frost_data


def test_the_package_data_is_read_once() -> None:
    assert package_frost_data() is package_frost_data()
    assert package_frost_data().bloom_of("lemon") is None
    assert package_frost_data().adjustment("sea") is None


def test_a_file_that_is_no_toml_is_a_fault() -> None:
    data, (fault,) = frost_data_of("frost.toml", "[growth")
    assert data is None
    assert "TOML" in fault.allowed


def test_every_missing_table_is_told_at_once() -> None:
    data, faults = frost_data_of("frost.toml", '[growth]\ntender_weeks = 8\nsource = ""\n')
    assert data is None
    fields = {fault.field for fault in faults}
    assert {"hardening", "forecast", "bloom"} <= fields
