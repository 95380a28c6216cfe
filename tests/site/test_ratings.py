"""What an interceptor holds and lets through, as names, property sets and the job file tell it."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Element
from ifclint.rules.site.ratings import rating_of
from ifclint.rules.site.section import InterceptorData

GPM, GAL = 231 * 0.0254**3 / 60, 231 * 0.0254**3


@pytest.mark.parametrize(
    ("name", "volume", "flow", "grease"),
    [
        ("Grease Interceptor - 1000 Gal", 1000, None, None),
        ("Interceptor, 1,500-gallon", 1500, None, None),
        ("GI-1 50 GPM / 100 lb", None, 50, 100),
        ("HGI 20gpm-40lbs", None, 20, 40),
        ("Grease trap 25 gal/min", None, 25, None),
        ("Tank 3,785 L", 999.9, None, None),
        ("Fettabscheider NS 4", None, 63.4, None),
        ("Grease interceptor GI-2", None, None, None),
    ],
)
def test_a_name_tells_it(
    name: str, volume: float | None, flow: float | None, grease: float | None
) -> None:
    rating = rating_of(Element("G", name=name), None)
    told = (rating.volume_gal, rating.flow_gpm, rating.grease_lb)
    for value, wanted in zip(told, (volume, flow, grease), strict=True):
        assert value == (wanted if wanted is None else pytest.approx(wanted, rel=1e-3))


def test_the_job_file_goes_before_the_model_and_its_name() -> None:
    element = Element("G", name="Interceptor 750 gal")
    element.properties["storage_volume_m3"] = 1000 * GAL
    assert rating_of(element, None).volume_gal == pytest.approx(1000)
    told = InterceptorData(element="G", volume="1250 gal", rating="35 gpm")
    made = rating_of(element, told)
    assert (made.volume_gal, made.flow_gpm) == pytest.approx((1250, 35))
