"""The data file of the room: faults in it are told like those of any other file."""

from scheduler.holding.frost_data import package_frost_data


def test_the_package_data_is_read_once() -> None:
    assert package_frost_data() is package_frost_data()
    assert package_frost_data().bloom_of("lemon") is None
    assert package_frost_data().adjustment("sea") is None
