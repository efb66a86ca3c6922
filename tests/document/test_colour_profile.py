"""The output intent's profile against the sRGB of another library (littlecms, through Pillow)."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from planforge.document.colour_profile import NAME, srgb_profile


def test_colours_come_out_as_in_another_library_s_srgb() -> None:
    """Within one step of 255, from here to there and back, over a grid of colours and all greys."""
    own = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    other = ImageCms.createProfile("sRGB")
    steps = np.arange(0, 256, 15, dtype=np.uint8)
    grid = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    greys = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    colours = np.concatenate([grid, greys])[None]
    for source, target in ((own, other), (other, own)):
        turned = ImageCms.profileToProfile(Image.fromarray(colours), source, target)
        assert turned is not None
        assert np.abs(np.asarray(turned).astype(int) - colours.astype(int)).max() <= 1


def test_the_transfer_curve_is_not_a_plain_power() -> None:
    """A check of the check: a profile with another curve would not pass."""
    data = srgb_profile()
    place = data.rindex(b"para") + 12
    linear = data[:place] + (65536).to_bytes(4, "big") + data[place + 4 :]
    grey = Image.fromarray(np.full((1, 1, 3), 128, np.uint8))
    turned = ImageCms.profileToProfile(
        grey, ImageCms.ImageCmsProfile(io.BytesIO(linear)), ImageCms.createProfile("sRGB")
    )
    assert turned is not None
    assert abs(int(np.asarray(turned)[0, 0, 0]) - 128) > 20


def test_it_names_itself_and_never_changes() -> None:
    profile = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    assert profile.profile.profile_description == NAME
    assert profile.profile.xcolor_space.strip() == "RGB"
    assert profile.profile.version == pytest.approx(4.2)
    assert srgb_profile() == srgb_profile()
    assert int.from_bytes(srgb_profile()[:4], "big") == len(srgb_profile())
