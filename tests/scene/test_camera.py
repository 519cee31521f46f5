import numpy as np
import pytest

from stillwing.errors import OutsideModel
from stillwing.optics.focus import sharp_range
from stillwing.scene.camera import Camera, camera_of, px_per_metre


def test_the_disc_reaches_the_allowed_diameter_at_the_limits_of_depth_of_field():
    camera = Camera(focal_length_mm=300, f_number=4.0, focus_distance_m=3.0)
    near, far = sharp_range(3000, 300, 4.0, 0.02)  # 2992.82 and 3007.22 mm for c = 0.02 mm: S. F. Ray, exact thin lens
    for limit in (near, far):
        assert float(camera.disc_px(float(limit) / 1000)) * camera.pitch_mm == pytest.approx(0.02, rel=1e-4)
    assert camera.disc_px(3.0) == 0


def test_a_thing_at_twice_the_focal_length_is_life_size():
    # m = 1 at 2f (any handbook): a metre is a metre on the sensor.
    camera = Camera(focal_length_mm=300, focus_distance_m=0.6)
    assert px_per_metre(camera, 0.6) * camera.pitch_mm / 1000 == pytest.approx(1.0)


def test_farther_things_are_smaller_in_proportion():
    camera = Camera(focus_distance_m=4.0)
    assert px_per_metre(camera, 4.0) / px_per_metre(camera, 8.0) == pytest.approx(2.0)


@pytest.mark.parametrize("megapixels", [1, 6, 20, 50])
def test_sizes_from_one_to_fifty_megapixels(megapixels):
    camera = camera_of(megapixels)
    assert camera.width_px * camera.height_px / 1e6 == pytest.approx(megapixels, rel=0.03)
    assert camera.width_px % 16 == camera.height_px % 16 == 0
    assert camera.pitch_mm * camera.width_px == pytest.approx(17.4)


def test_a_smaller_pixel_holds_fewer_electrons():
    wells = [camera_of(mp).full_well_e * camera_of(mp).width_px ** 2 for mp in (2, 20)]
    assert wells[0] == pytest.approx(wells[1], rel=1e-9)


@pytest.mark.parametrize("megapixels", [0.5, 51])
def test_sizes_beyond_are_refused(megapixels):
    with pytest.raises(OutsideModel, match="megapixels"):
        camera_of(megapixels)


def test_diffraction_grows_with_the_f_number():
    sigma = [Camera(f_number=n).diffraction_sigma_px for n in (5.6, 11.2)]
    assert sigma[1] == pytest.approx(2 * sigma[0])


def test_names_are_of_no_maker():
    assert Camera().name == "20 MP 17.4 x 13.0 mm"
    assert Camera().lens == "75-300 mm f/4.8-6.7"


def test_discs_take_arrays():
    assert Camera().disc_px(np.array([2.9, 3.0, 3.1])).shape == (3,)
