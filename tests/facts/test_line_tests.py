"""The formulas that find faults on lines, and uncertainty, against published examples; the source is beside each.

Where a source gives only the inputs, the result was worked out by hand from the formula beside it.
"""

import csv
import math

import numpy as np
import pytest

from catalogue.core.line_tests import (
    SPEED_OF_LIGHT,
    capacitance_ratio,
    capacitance_share,
    murray,
    reflection,
    varley,
    varley_equal_arms,
    velocity_factor,
)
from catalogue.core.location.observations import LoopBridge
from catalogue.core.location.plain import plain_answer
from catalogue.core.uncertainty import accuracy_limit, propagated, standard_uncertainty
from catalogue.tables import TABLES

METRES_IN_A_FOOT = 0.3048

with (TABLES / "dielectrics.csv").open(newline="", encoding="utf-8") as lines:
    DIELECTRICS = [row for row in csv.DictReader(lines) if row["eps_r"]]


def test_murray_loop_of_equal_cores():
    """Arms 3:1 on a loop of 2 × 600 m: 300 m. MGVCL paper of 30-07-2021, https://www.examians.com (71265)."""
    assert murray(arm_faulty=1, arm_sound=3, loop=1200) == pytest.approx(300)


def test_murray_loop_with_arms_exchanged_points_beyond_the_cable_and_says_so():
    """Arms 1 and 2 ohm, L = 300 m: 200 m, exchanged 400 m. Inputs: https://www.expertsmind.com (5138490)."""
    assert murray(arm_faulty=1, arm_sound=2, loop=600) == pytest.approx(200)
    assert plain_answer(LoopBridge(arm_known=2, arm_other=1, loop_m=600, percent=1), 300).impossible == ""
    exchanged = plain_answer(LoopBridge(arm_known=1, arm_other=2, loop_m=600, percent=1), 300)
    assert exchanged.at_m == pytest.approx(400)
    assert "exchanged it would be 200 m" in exchanged.impossible


def test_murray_loop_of_unequal_cores_on_a_slide_scale():
    """332 of 1000 on a loop of 54.07 ohm, 16.46 ohm/mile: 1.09 mile. Hawkins Electrical Guide, vol. 3, fig. 597."""
    assert murray(arm_faulty=332, arm_sound=668, loop=54.07) / 16.46 == pytest.approx(1.09, abs=0.005)


def test_varley_loop():
    """P = 15, Q = 40, S2 = 20, S1 = 10 ohm, 0.5 ohm/km. Inputs: https://askfilo.com (3136393230373335)."""
    found = varley(arm_faulty=15, arm_other=40, at_fault_ohms=10, at_far_joint_ohms=20)
    assert found.loop_ohms == pytest.approx(7.5)
    assert found.fault_ohms / 0.5 == pytest.approx(60 / 11)
    assert 15 * (found.fault_ohms + 10) == pytest.approx(40 * (found.loop_ohms - found.fault_ohms))


def test_varley_loop_with_arms_exchanged_is_another_place_in_another_loop():
    """Both are consistent in themselves, 14.55 of 53.33 km: only the loop's known length can tell them apart."""
    found = varley(arm_faulty=40, arm_other=15, at_fault_ohms=10, at_far_joint_ohms=20)
    assert found.loop_ohms / 2 / 0.5 == pytest.approx(53.333, abs=0.001)
    assert found.fault_ohms / 0.5 == pytest.approx(14.545, abs=0.001)


def test_varley_loop_of_equal_arms_takes_off_the_leads():
    """Formula: https://www.physicsforums.com/threads/varley-loop-r-pl-a-formula.967729/."""
    assert varley_equal_arms(core_ohms=0.9, lead_ohms=0.1, at_fault_ohms=0.6) == pytest.approx(0.60)


def test_capacitance_ratio_of_a_broken_lead():
    """100 and 400 pF on 10 m: 2 m from the end that reads 100 pF. Sound on Sound forum, thread 961331."""
    assert capacitance_ratio(100, 400, 10) == pytest.approx(2)
    assert capacitance_share(100, 500, 10) == pytest.approx(2)


def test_capacitance_ratio_of_240_to_110():
    """290 ft: 638/7 ft from the end with the lower reading."""
    assert capacitance_ratio(110, 240, 290) == pytest.approx(638 / 7)
    assert capacitance_ratio(240, 110, 290) == pytest.approx(290 - 638 / 7)


@pytest.mark.parametrize(
    ("seconds", "factor", "speed", "metres", "within"),
    [(10e-9, 0.684, 3e8, 1.026, 1e-12), (100e-9, 0.66, SPEED_OF_LIGHT, 9.893, 0.0005)],
)
def test_reflection(seconds, factor, speed, metres, within):
    """d = c·VF·t/2, worked out by hand."""
    assert reflection(seconds, factor, speed) == pytest.approx(metres, abs=within)


def test_speed_on_a_line_of_velocity_factor_0_84():
    """826 199 687.4 ft/s, 1.21 ns/ft. R. Hranac, "Velocity of Propagation", https://docslib.org/doc/398353."""
    feet_in_a_second = reflection(2.0, 0.84) / METRES_IN_A_FOOT
    assert feet_in_a_second == pytest.approx(826_199_687.4, abs=0.1)
    assert 1e9 / feet_in_a_second == pytest.approx(1.21, abs=0.005)


@pytest.mark.parametrize(("permittivity", "factor"), [(2.29, 0.661), (5.0, 0.447)])
def test_velocity_factor_of_permittivity(permittivity, factor):
    """https://standard-wire.com/resource/formula-for-capacitance-in-2-conductor-shielded-non-shielded-wires-coax/."""
    assert velocity_factor(permittivity) == pytest.approx(factor, abs=0.0005)


@pytest.mark.parametrize("row", DIELECTRICS, ids=lambda row: row["key"])
def test_velocity_factors_of_the_table_follow_from_their_permittivity(row):
    """Column velocity_factor of dielectrics.csv, whose source column says where each was seen; printed to about 1 %."""
    assert velocity_factor(float(row["eps_r"])) == pytest.approx(float(row["velocity_factor"]), abs=0.008)


# GUM H.2: https://gtc.readthedocs.io/en/latest/API/GUM_H2.html, with the rounded inputs given there.
VOLTS, AMPERES, PHASE = 4.999, 19.661e-3, 1.04446
DEVIATIONS = np.array([3.2e-3, 9.5e-6, 0.75e-3])
CORRELATION = np.array([[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]])


def impedance(values):
    volts, amperes, phase = values
    return np.array([volts * np.cos(phase) / amperes, volts * np.sin(phase) / amperes, volts / amperes])


def test_propagation_with_correlation_is_that_of_gum_h2():
    covariance = CORRELATION * np.outer(DEVIATIONS, DEVIATIONS)
    results, found = propagated(impedance, np.array([VOLTS, AMPERES, PHASE]), covariance)
    deviations = np.sqrt(np.diag(found))
    correlation = found / np.outer(deviations, deviations)
    assert results == pytest.approx([127.732, 219.85, 254.26], abs=0.005)
    assert deviations == pytest.approx([0.070, 0.30, 0.24], abs=0.005)
    assert [correlation[0, 1], correlation[0, 2], correlation[1, 2]] == pytest.approx([-0.59, -0.49, 0.99], abs=0.005)


def test_propagation_without_the_correlation_is_not():
    """u(R) comes to 0.194 ohm instead, worked out by hand."""
    _, found = propagated(impedance, np.array([VOLTS, AMPERES, PHASE]), np.diag(DEVIATIONS**2))
    assert math.sqrt(found[0, 0]) == pytest.approx(0.194, abs=0.0005)


def test_propagation_agrees_with_drawing_inputs_at_random():
    """JCGM 101:2008, Monte Carlo, of which the linear propagation is the limit here."""
    covariance = CORRELATION * np.outer(DEVIATIONS, DEVIATIONS)
    centre = np.array([VOLTS, AMPERES, PHASE])
    drawn = np.random.default_rng(1).multivariate_normal(centre, covariance, 200_000).T
    results, found = propagated(impedance, centre, covariance)
    outcomes = impedance(drawn)
    assert results == pytest.approx(outcomes.mean(axis=1), rel=1e-5)
    assert found == pytest.approx(np.cov(outcomes), rel=0.03)


@pytest.mark.parametrize(("reading", "limit"), [(10.0, 0.28), (0.5, 0.204)])
def test_accuracy_of_a_meter_reading(reading, limit):
    """±(0.8 % + 2 digits of 0.1 ohm), in the form of Elenco M-1000D manual, p. 7; worked out by hand."""
    assert accuracy_limit(reading, 0.8, 2 * 0.1) == pytest.approx(limit)


def test_standard_uncertainty_of_a_meter_reading():
    """0.28 ohm / sqrt(3) = 0.162 ohm: JCGM 100:2008, 4.3.7."""
    assert standard_uncertainty(accuracy_limit(10.0, 0.8, 0.2)) == pytest.approx(0.162, abs=0.0005)


def test_a_reading_of_half_an_ohm_may_be_three_tenths():
    assert 0.5 - accuracy_limit(0.5, 0.8, 0.2) < 0.3
