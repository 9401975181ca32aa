"""The tables that tell rival formulas apart: each name leads to its own formula."""

import inspect
from itertools import combinations

from sprayroof.physics import sky

POINT = (17.0, 6.0, 934.0, 97000.0, 3.0)


def test_clear_sky_formulas_all_differ():
    values = {name: float(formula(*POINT)) for name, formula in sky.CLEAR_SKY.items()}
    assert len(values) >= 7
    for (name, value), (other, its) in combinations(values.items(), 2):
        assert abs(value - its) > 1e-4, (name, other)
    assert all(0.6 < value < 0.95 for value in values.values())


def test_cloud_formulas_all_differ():
    values = {name: float(formula(0.78, 0.6, 2500.0)) for name, formula in sky.CLOUDS.items()}
    assert len(values) >= 3
    for (name, value), (other, its) in combinations(values.items(), 2):
        assert abs(value - its) > 1e-3, (name, other)
    assert all(0.0 < value < 1.0 for value in values.values())


def test_names_lead_to_formulas_of_that_name():
    for name, formula in sky.CLEAR_SKY.items():
        assert formula.__name__ == f"sky_emissivity_{name}"
    for name, formula in sky.CLOUDS.items():
        assert formula.__name__ == f"cloud_effect_{name}"


def rivals(of):
    """Functions of the module that take the same arguments as one of a table, by name."""
    arguments = inspect.signature(of)
    return {
        name
        for name, function in vars(sky).items()
        if callable(function) and hasattr(function, "nin") and inspect.signature(function) == arguments
    }


def test_every_formula_of_the_module_is_in_its_table():
    clear, clouds = sky.sky_emissivity_prata, sky.cloud_effect_unsworth_monteith
    assert rivals(clear) == {f"sky_emissivity_{name}" for name in sky.CLEAR_SKY}
    assert rivals(clouds) == {f"cloud_effect_{name}" for name in sky.CLOUDS}


def test_they_can_stand_in_for_each_other():
    signatures = {str(inspect.signature(formula)) for formula in sky.CLEAR_SKY.values()}
    assert len(signatures) == 1


def test_clear_sky_is_clear_and_clouds_only_add():
    for formula in sky.CLOUDS.values():
        assert formula(0.78, 0.0, 2000.0) == 0.0
        effects = [float(formula(0.78, cover, 2000.0)) for cover in (0.0, 0.3, 0.6, 1.0)]
        assert effects == sorted(effects)
