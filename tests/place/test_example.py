"""The example site is a pond that shows everything a site can have."""

from shapely.geometry import Point

from stillwing.place.example import example_site


def test_the_pond_is_as_large_as_it_says_and_has_one_of_everything():
    site = example_site()
    east, north = (site.water.bounds[2 + i] - site.water.bounds[i] for i in (0, 1))
    assert 110 < east < 130 and 50 < north < 75
    (water,) = site.outline.waters
    assert len(water.islands) == 1
    assert all(entry.distance_m < 200 for entry in site.horizon.entries)
    assert all(stand.reach for stand in site.stands)
    assert len({stand.name for stand in site.stands}) == len(site.stands)


def test_perches_stand_in_the_water_near_a_bank_and_trees_behind_it():
    site = example_site()

    for at in site.plane.to_metres([perch.position for perch in site.perches]):
        assert site.water.contains(Point(*at)) and site.water.boundary.distance(Point(*at)) < 12
