"""Each value stands with where it comes from. “Arithmetic” follows from the definition alone;
a “model” is a drawn camera whose truth is known."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from portal.technique import measuring
from portal.technique.measuring import Interval, NoFigure

NEAR = 0.0006


def took(seconds: float, gap: float = 1 / 60) -> Interval:
    return Interval(seconds, gap)


def test_it_works():
    """Three cycles by the stopwatch's base-3 rule: 180 over the time (arithmetic)."""
    rate = measuring.stroke_rate(3, measuring.interval(12.4, 16.0, gap=1 / 30))
    assert rate.value == pytest.approx(50.0)
    assert measuring.arm_strokes(rate.value, "free") == pytest.approx(100.0)
    assert measuring.arm_strokes(rate.value, "breast") == pytest.approx(50.0)
    assert measuring.cycle_time(3, took(3.6)).value == pytest.approx(1.20)


def test_slower():
    """Arithmetic."""
    assert measuring.stroke_rate(3, took(4.5)).value == pytest.approx(40.0)
    assert measuring.cycle_time(3, took(4.5)).value == pytest.approx(1.50)


def test_a_hundred_freestyle_of_54_cycles():
    """openwaterpedia.com, Stroke rate: 1.85 m a cycle, 0.9 cycles and 1.11 s a cycle; velocity and
    index are worked out. The mean of a race has its start and turns in it."""
    speed = measuring.velocity(100, took(60)).value
    rate = measuring.stroke_rate(54, took(60)).value
    length = measuring.distance_per_cycle(speed, rate)
    assert rate == pytest.approx(54.0)
    assert rate / 60 == pytest.approx(0.900, abs=NEAR)
    assert measuring.cycle_time(54, took(60)).value == pytest.approx(1.111, abs=NEAR)
    assert speed == pytest.approx(1.667, abs=NEAR)
    assert length == pytest.approx(1.852, abs=NEAR)
    assert measuring.stroke_index(speed, length) == pytest.approx(3.086, abs=NEAR)


@pytest.mark.parametrize(
    ("per_second", "length", "speed", "published", "rate", "index", "hundred", "seconds"),
    [
        (0.79, 1.61, 1.272, 1.27, 47.4, 2.045, 100, 78.7),
        (0.84, 1.90, 1.596, 1.59, 50.4, 3.021, 100, 62.8),
    ],
    ids=["breaststroke", "freestyle"],
)
def test_girls_of_13_and_14(per_second, length, speed, published, rate, index, hundred, seconds):
    """nancytoby.blogspot.com, 2005-08-25: a table of 100 m races (second-hand)."""
    worked_out = per_second * length
    assert worked_out == pytest.approx(speed, abs=NEAR)
    assert worked_out == pytest.approx(published, abs=0.01)
    assert measuring.distance_per_cycle(worked_out, rate) == pytest.approx(length, abs=NEAR)
    assert measuring.stroke_index(worked_out, length) == pytest.approx(index, abs=0.015)
    assert hundred / published == pytest.approx(seconds, abs=0.1)


def test_ten_metres_of_clean_swimming():
    """Arithmetic."""
    speed = measuring.velocity(10, took(6.25)).value
    rate = measuring.stroke_rate(3, took(3.3)).value
    length = measuring.distance_per_cycle(speed, rate)
    assert speed == pytest.approx(1.6)
    assert rate == pytest.approx(54.545, abs=NEAR)
    assert length == pytest.approx(1.760, abs=NEAR)
    assert measuring.stroke_index(speed, length) == pytest.approx(2.816, abs=NEAR)


def test_what_is_under_water_is_not_stroked():
    """Arithmetic: the whole length over the count would flatter by 35 %."""
    assert measuring.distance_per_counted_cycle(25, 0, 14) == pytest.approx(1.786, abs=NEAR)
    assert measuring.distance_per_counted_cycle(25, 6.5, 14) == pytest.approx(1.321, abs=NEAR)


@pytest.mark.parametrize(
    ("base", "time", "points"),
    [
        # A points page's worked example: 1:05.72 is the last of 375, base 47.43.
        (4743, 6572, 375),
        (4743, 6571, 376),
        (4743, 6577, 375),
        # forums.usms.org t-27251: men's 100 free, long course, 2016.
        (4691, 5281, 700),
        (4691, 5280, 701),
        (4691, 4691, 1000),
        # In doubles the last place gives 215.
        (11400, 19000, 216),
    ],
)
def test_points(base: int, time: int, points: int):
    assert measuring.points(base, time) == points


def test_floating_points_lose_one():
    assert int(1000 * (114.00 / 190.00) ** 3) == 215


def test_laps():
    """Women's 1500 m, final of the 2013 world championships (gist rossant/6151106)."""
    first, second, third = measuring.split([28.14, 58.75, 89.33])
    assert (first, second, third) == pytest.approx((28.14, 30.61, 30.58))
    assert measuring.velocity(50, took(second)).value == pytest.approx(1.633, abs=NEAR)


def test_yards():
    """1 yd is 0.9144 m exactly; USA Swimming's text has 16.4 yd for 15 m, 49 ft 2.5 in for the
    mark, and flags at 15 ft."""
    assert measuring.metres(25) == pytest.approx(22.86)
    assert measuring.metres(100) == pytest.approx(91.44)
    assert measuring.metres(16.404) == pytest.approx(15, abs=NEAR)
    assert measuring.metres(15 / 3) == pytest.approx(4.572)
    assert measuring.metres((49 + 2.5 / 12) / 3) == pytest.approx(14.9987, abs=0.0001)


def test_the_share_of_the_glide():
    """Leblanc, Seifert, Baudry, Chollet 2005 (doi 10.1055/s-2004-830492): shares of a cycle; the
    cycle of 1.5 s is chosen here."""
    for part, of in [(0.282, 0.1880), (0.4656, 0.3104), (0.17835, 0.1189), (0.294, 0.1960)]:
        assert measuring.share(part, 1.5) == pytest.approx(of, abs=0.0001)


def test_dolphin_kicks_of_children():
    """Human Movement 2017 18(4) (doi 10.1515/humo-2017-0030), 35 children of 11.5 years: published
    means 0.83 and 0.58 m; ratios of means differ from them."""
    assert measuring.strouhal(2.0, 0.46, 1.08) == pytest.approx(0.852, abs=NEAR)
    assert measuring.strouhal(2.0, 0.46, 1.08) == pytest.approx(0.83, abs=0.03)
    assert 1.08 / measuring.kick_rate(2, took(1)).value == pytest.approx(0.54)
    assert 1.08 / measuring.kick_rate(2, took(1)).value == pytest.approx(0.58, abs=0.05)


def test_a_turn():
    """Arithmetic: 5 m in and 10 m out."""
    whole = measuring.turn(took(3.10), took(5.42))
    assert whole.seconds == pytest.approx(8.52)
    assert whole.worst == pytest.approx(2 / 60)
    assert measuring.velocity(15, whole).value == pytest.approx(1.761, abs=NEAR)


def test_under_water():
    """Arithmetic: from 5 to 10 m."""
    assert measuring.velocity(5, took(2.95)).value == pytest.approx(1.695, abs=NEAR)


@pytest.mark.parametrize(
    ("rate", "worst", "deviation", "low", "high"),
    [(30, 0.0333, 0.0136, 49.54, 50.47), (60, 0.0167, 0.0068, 49.77, 50.23)],
)
def test_what_the_frames_leave_open(rate, worst, deviation, low, high):
    """Arithmetic: each mark lies anywhere within its frame."""
    span = measuring.interval(0, 3.6, gap=1 / rate)
    figure = measuring.stroke_rate(3, span)
    assert span.worst == pytest.approx(worst, abs=0.0001)
    assert span.deviation == pytest.approx(deviation, abs=0.0001)
    assert (figure.low, figure.high) == pytest.approx((low, high), abs=0.005)


def test_the_deviation_against_chance():
    """A million pairs of moments that fall anywhere within their frames."""
    chance = np.random.default_rng(11).random((2, 1_000_000)) / 30
    assert np.std(chance[0] - chance[1]) == pytest.approx(took(1, 1 / 30).deviation, rel=0.005)


def test_a_rope_seen_askew():
    """Model: a pinhole camera 16 m off the rope, opposite 8 m, turned by 8 degrees."""
    rope = measuring.calibrate([0, 5, 15], [64.4, 522.0, 1323.7])
    assert rope.metres(252.5) == pytest.approx(2.0, abs=0.01)
    assert rope.metres(940.1) == pytest.approx(10.0, abs=0.01)
    straight = 15 / (1323.7 - 64.4)
    assert (522.0 - 64.4) * straight == pytest.approx(5.45, abs=0.01)
    assert (940.1 - 64.4) * straight == pytest.approx(10.43, abs=0.01)
    for places in ([0, 5, 10, 15], [64.4, 522.0, 940.1, 1323.7]):
        assert measuring.cross_ratio(*places) == pytest.approx(1.3333, abs=0.0005)


def test_behind_the_rope():
    """Model: half a lane of 2.5 m."""
    short = measuring.parallax(16, 1.25)
    assert short == pytest.approx(0.0725, abs=0.0001)
    assert 1 / (1 - short) == pytest.approx(1.078, abs=NEAR)


def test_angles():
    """Arithmetic. Shares of a 16:9 frame would say 134.85 degrees."""
    points = [(320, 200), (400, 240), (410, 340)]
    assert measuring.angle(*points) == pytest.approx(122.28, abs=0.01)
    shares = [(x / 16, y / 9) for x, y in points]
    assert measuring.angle(*shares) == pytest.approx(134.85, abs=0.01)
    assert measuring.angle((0, 0), (100, 0), (100, 100)) == pytest.approx(90.0)
    assert measuring.slope(340, 60) == pytest.approx(10.01, abs=0.01)


def test_knees_and_hips():
    """Arithmetic: 52 pixels from knee to knee, 40 across the hips."""
    assert measuring.times_as_wide(52, 40) == pytest.approx(1.30)


def test_the_line_on_the_floor():
    """FINA's marking rule in a copy on consultant.ru, and gunsu.com.tr: 46.0 and 21.0 m."""
    assert measuring.pool_of_lane_line(46.0) == pytest.approx(50.0)
    assert measuring.pool_of_lane_line(21.0) == pytest.approx(25.0)


def test_the_parts_of_a_hundred_breaststroke():
    """Olstad, Wathne, Gonjo 2020 (doi 10.3390/ijerph17176257), 15 men: turn, clean, start and
    finish in per cent as printed, which leave 0.02 to rounding."""
    parts = [44.30, 38.93, 11.39, 5.36]
    assert sum(parts) == pytest.approx(99.98)
    for part in parts:
        assert 100 * measuring.share(part, sum(parts)) == pytest.approx(part, abs=0.01)


def test_pullouts_of_the_best():
    """McCabe et al. 2022 (doi 10.3389/fspor.2022.963578): of 150, 71 joined, 65 dolphin first."""
    assert measuring.share(150 - 71 - 65, 150) == pytest.approx(14 / 150)


def test_what_an_entry_saves():
    """van Dijk, Beek, van Soest 2020 (doi 10.1371/journal.pone.0241345): 0.6 s a metre, 0.3 s a
    metre a second, 0.5 s a radian."""
    assert measuring.sooner_to_15(further=0.5) == pytest.approx(0.30)
    assert measuring.sooner_to_15(faster=1.0) == pytest.approx(0.30)
    assert measuring.sooner_to_15(flatter=10.0) == pytest.approx(0.087, abs=NEAR)


def test_a_relay():
    """Arithmetic: the toes leave three frames before the touch."""
    gap = measuring.relay_gap(121 / 60, 118 / 60, gap=1 / 60)
    assert gap.seconds == pytest.approx(-0.05)
    assert gap.worst == pytest.approx(0.0167, abs=0.0001)


def test_a_pullout():
    found = measuring.pullout(2.0, 4.5, 6.0, gap=1 / 30, kick=3.0)
    assert found.line.seconds == pytest.approx(2.5)
    assert found.pull.seconds == pytest.approx(1.5)
    assert found.kick == pytest.approx(1.0)
    assert found.kick_with_pull is False
    assert measuring.pullout(2.0, 4.5, 6.0, gap=1 / 30, kick=5.0).kick_with_pull
    assert measuring.pullout(2.0, 4.5, 6.0, gap=1 / 30).kick_with_pull is None


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: measuring.interval(3, 3, gap=0.1),
        lambda: measuring.interval(3, 4, gap=0),
        lambda: measuring.stroke_rate(0, took(3)),
        lambda: measuring.stroke_rate(1, took(0.02, 1 / 30)),
        lambda: measuring.distance_per_counted_cycle(25, 25, 10),
        lambda: measuring.split([30.0, 29.0]),
        lambda: measuring.points(0, 100),
        lambda: measuring.share(2, 1),
        lambda: measuring.calibrate([0, 5], [1, 2]),
        lambda: measuring.calibrate([0, 5, 15], [1, 1, 2]),
        lambda: measuring.angle((0, 0), (0, 0), (1, 1)),
        lambda: measuring.times_as_wide(52, 0),
        lambda: measuring.pool_of_lane_line(0),
        lambda: measuring.pullout(2, 4, 6, gap=0.1, kick=7),
    ],
)
def test_marks_that_give_no_figure(impossible: Callable[[], object]):
    with pytest.raises(NoFigure, match=r"\.$"):
        impossible()


@given(
    st.floats(1, 60), st.floats(0.2, 20), st.floats(0.001, 0.1), st.floats(0, 1), st.floats(0, 1)
)
def test_the_truth_lies_within_what_the_frames_leave_open(cycles, seconds, gap, begin, end):
    """Wherever within their frames the two moments are."""
    assume(seconds > 2 * gap)
    truth = 60 * cycles / (seconds + (end - begin) * gap)
    figure = measuring.stroke_rate(cycles, Interval(seconds, gap))
    assert figure.low <= truth * (1 + 1e-12)
    assert truth <= figure.high * (1 + 1e-12)


coordinates = st.integers(-2000, 2000)


@given(*[st.tuples(coordinates, coordinates)] * 3)
def test_angles_against_another_way(a, b, c):
    assume(a != b != c)
    one, other = np.subtract(a, b), np.subtract(c, b)
    cosine = np.dot(one, other) / np.linalg.norm(one) / np.linalg.norm(other)
    expected = math.degrees(math.acos(min(1, max(-1, cosine))))
    assert measuring.angle(a, b, c) == pytest.approx(expected, abs=1e-5)
