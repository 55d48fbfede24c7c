"""Fits of four families against check values, R's survreg, lifelines and general searches."""

import warnings
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.special import chdtri

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.estimates import ParameterEstimate
from garage.lifetimes.laws.families import FAMILIES, FamilyName
from garage.lifetimes.laws.law_fit import LawFit, law_fit
from garage.lifetimes.laws.loglogistic import LogLogisticLaw
from garage.lifetimes.laws.lognormal import LognormalLaw
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.laws.weibull_fit import weibull_fit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from tests.lifetimes.conftest import CheckCase, Rows, table_of
from tests.lifetimes.laws.written_out import best_found, lives_of, log_likelihood, spans

Case = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]

TWO_PARAMETERS: tuple[FamilyName, ...] = ("weibull", "lognormal", "log-logistic")
each_family = pytest.mark.parametrize("family", TWO_PARAMETERS)
every_family = pytest.mark.parametrize("family", list(FAMILIES))

# Abernethy, The New Weibull Handbook, example C.5: five failures, two suspensions.
EXIT, FAILED = [1500, 1750, 2250, 4000, 4300, 5000, 7000], [1, 0, 1, 1, 1, 0, 1]

# Invented: intervals, exact failures, one early and two unfailed kinds of lives, with weights.
MIXED = IntervalLives(
    left=[10, 15, 0, 40, 22, 5, 30, 60],
    right=[20, 15, 30, np.inf, 22, 9, 45, np.inf],
    weight=[2, 1, 1, 3, 1, 1, 2, 1],
)


def found(estimate: ParameterEstimate | None) -> ParameterEstimate:
    assert estimate is not None
    return estimate


def mu_sigma(fit: LawFit) -> tuple[float, float]:
    sigma = 1.0 if fit.sigma is None else fit.sigma.value
    return float(np.log(found(fit.scale).value)), sigma


def as_lives(exit_: list[int], failed: list[int], entry: list[int] | None = None) -> IntervalLives:
    ends = np.asarray(exit_, float)
    begin = np.zeros(len(ends)) if entry is None else np.asarray(entry, float)
    return IntervalLives(ends, np.where(np.asarray(failed) == 1, ends, np.inf), begin)


# R 4.2.2, survival 3.5-3: f <- survreg(Surv(EXIT, FAILED) ~ 1, dist = family);
# coef(f), f$scale, f$loglik[2], sqrt(diag(vcov(f))) of (mu, log sigma); then
# predict(f, data.frame(x = 1), type = "uquantile", p = 0.1, se.fit = TRUE).
RIGHT = {
    "exponential": (8.54869185848, 1, -47.7434592924, [0.4472135955], 6.29832453116, 0.4472135955),
    "weibull": (
        8.49701205261,
        0.44305752613,
        -45.8522755725,
        [0.199086815528, 0.350800405636],
        7.49996987169,
        0.418958289553,
    ),
    "lognormal": (
        8.25555864281,
        0.572326709034,
        -45.9286496032,
        [0.237222672868, 0.314877302531],
        7.52209245284,
        0.302389752599,
    ),
    "log-logistic": (
        8.28370954513,
        0.344755120856,
        -46.1148754962,
        [0.247645792783, 0.356614793607],
        7.52620512042,
        0.356944983641,
    ),
}

# The same; survreg(Surv(ifelse(left == 0, NA, left), ifelse(is.infinite(right), NA, right),
# type = "interval2") ~ 1, dist = family, weights = weight).
INTERVAL = {
    "exponential": (3.75230762851, 1, -23.2453306044, [0.355125845168]),
    "weibull": (3.7047206802, 0.73085427531, -22.8377144631, [0.261541690043, 0.325244115683]),
    "lognormal": (3.37245225437, 0.881109585908, -22.1981906625, [0.278493466771, 0.294609647092]),
    "log-logistic": (
        3.35436420709,
        0.535047694952,
        -22.3825571956,
        [0.282513312617, 0.3194453977],
    ),
}


@every_family
@pytest.mark.parametrize("form", ["table", "lives"])
def test_unfinished_lives_equal_rs_survreg(family: FamilyName, form: str) -> None:
    lives = table_of(EXIT, FAILED) if form == "table" else as_lives(EXIT, FAILED)
    fit = law_fit(lives, family=family)
    mu, sigma, height, errors, log_tenth, log_tenth_error = RIGHT[family]
    assert mu_sigma(fit) == pytest.approx((mu, sigma), rel=1e-6)
    assert fit.log_likelihood == pytest.approx(height, abs=1e-8)
    assert fit.covariance is not None
    assert np.sqrt(np.diag(fit.covariance))[: len(errors)] == pytest.approx(errors, rel=1e-5)
    tenth = found(fit.quantile(0.1))
    assert np.log(tenth.value) == pytest.approx(log_tenth, rel=1e-7)
    assert tenth.standard_error / tenth.value == pytest.approx(log_tenth_error, rel=1e-5)


@every_family
def test_interval_lives_equal_rs_survreg(family: FamilyName) -> None:
    fit = law_fit(MIXED, family=family)
    mu, sigma, height, errors = INTERVAL[family]
    assert mu_sigma(fit) == pytest.approx((mu, sigma), rel=1e-6)
    assert fit.log_likelihood == pytest.approx(height, abs=1e-8)
    assert fit.covariance is not None
    assert np.sqrt(np.diag(fit.covariance))[: len(errors)] == pytest.approx(errors, rel=1e-5)
    assert (fit.n, fit.failed) == (12, 8)


def inspected(case: CheckCase) -> IntervalLives:
    data = case.data
    if "left" in data:
        right = [np.inf if each is None else each for each in data["right"]]
        return IntervalLives(data["left"], right, weight=data["count"])
    hours, failed = data["hours"], np.array(data["failed"])
    sound = np.array(data["inspected"]) - failed
    start, never = [0.0] * len(hours), [np.inf] * len(hours)
    return IntervalLives(hours + start, never + hours, weight=[*sound, *failed])


@pytest.mark.parametrize("number", ["WB-11", "WB-13"])
def test_inspected_lives_case(check_case: Case, number: str) -> None:
    case = check_case(number)
    fit = law_fit(inspected(case), family="weibull")
    shape, scale = found(fit.shape), found(fit.scale)
    tenth, half = found(fit.quantile(0.1)), found(fit.median)
    case.holds("shape beta", shape.value)
    case.holds("scale eta", scale.value)
    case.holds("log-likelihood", fit.log_likelihood)
    case.holds(
        "SE beta, SE eta (observed information)", [shape.standard_error, scale.standard_error]
    )
    for name, each in (("beta", shape), ("eta", scale), ("B10", tenth)):
        case.holds(f"{name} 95% Wald on log scale", [each.wald_lower, each.wald_upper])
        case.holds(f"{name} 95% likelihood ratio", [each.lower, each.upper])
    case.holds("B10 life", tenth.value)
    case.holds("B50 life", half.value)


def test_inspected_lives_lognormal_case(check_case: Case) -> None:
    case = check_case("WB-11")
    fit = law_fit(inspected(case), family="lognormal")
    case.holds("lognormal mu, sigma, loglik", [*mu_sigma(fit), fit.log_likelihood])


def test_generator_fans_lognormal_and_exponential_case(
    check_case: Case, check_rows: ReadRows
) -> None:
    case, rows = check_case("WB-07"), check_rows("generator_fan.csv")
    table = table_of([int(r["hours"]) for r in rows], [int(r["status"]) for r in rows])
    lognormal = law_fit(table, family="lognormal")
    case.holds("lognormal mu, sigma, loglik", [*mu_sigma(lognormal), lognormal.log_likelihood])
    constant = law_fit(table, family="exponential")
    case.holds("exponential mean = total time / 12", found(constant.scale).value)


def test_part_life_in_miles_lognormal_case(check_case: Case) -> None:
    case = check_case("WB-10")
    failed, left = case.data["failures"], case.data["right_censored"]
    table = table_of(failed + left, [1] * len(failed) + [0] * len(left))
    case.holds("lognormal mu, sigma", mu_sigma(law_fit(table, family="lognormal")))


def test_bus_engines_with_delayed_entry_lognormal_case(
    check_case: Case, check_rows: ReadRows
) -> None:
    rows, figures = check_rows("fetched/rust_bus_engines.csv"), []
    for group in ("4", "7", "8"):
        mine = [r for r in rows if r["group"] == group]
        exit_, cause, entry = (
            [int(r[name]) for r in mine] for name in ("exit_miles", "replaced", "entry_miles")
        )
        mu, sigma = mu_sigma(law_fit(table_of(exit_, cause, entry), family="lognormal"))
        figures += [mu - np.log(1000), sigma]
    check_case("WB-14").holds("groups 4, 7, 8: lognormal mu, sigma", figures)


def test_constant_rate_with_delayed_entry_case(check_case: Case, check_rows: ReadRows) -> None:
    rows = check_rows("macs_cole_hudgens.csv")
    entry, exit_ = (np.array([float(r[name]) for r in rows]) for name in ("W", "T"))
    died = np.array([int(r["D"]) for r in rows]) == 1
    lives = IntervalLives(exit_, np.where(died, exit_, np.inf), entry)
    scale = found(law_fit(lives, family="exponential").scale)
    check_case("WB-16").holds("rate", 1 / scale.value)


@pytest.mark.parametrize("number", ["WB-01", "WB-03", "WB-05", "WB-09"])
def test_other_way_of_fitting_gives_the_weibull_cases_too(
    check_case: Case, check_rows: ReadRows, number: str
) -> None:
    # A table's Weibull fit goes the quick way; as interval lives the same data go the other.
    case = check_case(number)
    data = case.data
    if "failures" in data:
        exit_ = data["failures"] + data["right_censored"]
        failed = [1] * len(data["failures"]) + [0] * len(data["right_censored"])
        weight = np.ones(len(exit_))
    elif "hours" in data:
        exit_, failed, weight = data["hours"], data["event"], np.array(data["count"], float)
    else:
        rows = check_rows(data["file"].removeprefix("data/"))
        exit_, failed = [int(r["distance"]) for r in rows], [int(r["status"]) for r in rows]
        weight = np.ones(len(exit_))
    plain = as_lives(exit_, failed)
    fit = law_fit(IntervalLives(plain.left, plain.right, weight=weight), family="weibull")
    tenth = found(fit.quantile(0.1))
    case.holds("shape beta", found(fit.shape).value)
    case.holds("scale eta", found(fit.scale).value)
    case.holds("log-likelihood", fit.log_likelihood)
    case.holds("beta 95% likelihood ratio", [found(fit.shape).lower, found(fit.shape).upper])
    case.holds("eta 95% likelihood ratio", [found(fit.scale).lower, found(fit.scale).upper])
    case.holds("B10 95% likelihood ratio", [tenth.lower, tenth.upper])
    case.holds("B10 95% Wald on log scale", [tenth.wald_lower, tenth.wald_upper])


@pytest.mark.parametrize("fixed_shape", [None, 1.0, 2.5])
def test_weibull_of_a_table_is_weibull_fit_itself(fixed_shape: float | None) -> None:
    table = table_of(EXIT, FAILED, entry=[0, 100, 0, 1000, 0, 900, 0])
    ours = law_fit(table, family="weibull", fixed_shape=fixed_shape)
    theirs = weibull_fit(table, fixed_shape=fixed_shape)
    assert (ours.law, ours.shape, ours.scale) == (theirs.law, theirs.shape, theirs.scale)
    assert ours.log_likelihood == theirs.log_likelihood
    assert ours.quantile(0.1) == theirs.quantile(0.1)


@pytest.mark.parametrize("family", ["lognormal", "log-logistic"])
def test_delayed_entry_equals_lifelines(family: FamilyName) -> None:
    # lifelines 0.30.3, LogNormalFitter and LogLogisticFitter, fit(T, E, entry=W), same run.
    import lifelines

    rng = np.random.default_rng(11)
    life = np.round(np.exp(rng.normal(5, 0.5, 400)), 1)
    entry, end = np.round(rng.uniform(0, 150, 400), 1), rng.uniform(50, 350, 400)
    seen = (life > entry) & (end > entry)
    life, entry, end = life[seen], entry[seen], end[seen]
    failed = life <= end
    fitter = {
        "lognormal": lifelines.LogNormalFitter,
        "log-logistic": lifelines.LogLogisticFitter,
    }[family]()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitter.fit(np.minimum(life, end), failed, entry=entry)
    stop = np.minimum(life, end)
    fit = law_fit(IntervalLives(stop, np.where(failed, stop, np.inf), entry), family=family)
    assert fit.log_likelihood == pytest.approx(fitter.log_likelihood_, abs=1e-4)
    mu, sigma = mu_sigma(fit)
    if family == "lognormal":
        assert (mu, sigma) == pytest.approx((fitter.mu_, fitter.sigma_), rel=1e-3)
    else:
        assert (np.exp(mu), 1 / sigma) == pytest.approx((fitter.alpha_, fitter.beta_), rel=2e-3)


@each_family
@settings(max_examples=10)
@given(drawn=st.lists(spans, min_size=5, max_size=14))
def test_fit_is_no_worse_than_a_general_search(
    family: FamilyName, drawn: list[tuple[int, int, str, int]]
) -> None:
    lives = lives_of(drawn)
    fit = law_fit(lives, family=family)
    assume(fit.law is not None)
    mu, sigma = mu_sigma(fit)
    assert fit.log_likelihood == pytest.approx(log_likelihood(family, lives, mu, sigma), abs=1e-6)
    searched = best_found(family, lives, [(4.0, -1.0), (5.0, 0.5), (mu + 0.5, np.log(sigma) - 0.5)])
    assert fit.log_likelihood is not None
    assert fit.log_likelihood >= searched - 1e-5


@each_family
@pytest.mark.parametrize("level", [0.5, 0.95, 0.999])
def test_likelihood_at_every_limit_has_fallen_by_the_deviate(
    family: FamilyName, level: float
) -> None:
    # Second way: the greatest log-likelihood with the figure held, by a search in one dimension.
    from scipy.optimize import minimize_scalar

    lives = as_lives(EXIT, FAILED, [0, 100, 0, 1000, 0, 900, 0])
    fit = law_fit(lives, family=family, level=level)
    standard = FAMILIES[family].standard
    tenth, at_3000 = found(fit.quantile(0.1)), found(fit.survival_at(3000))
    deviate = float(standard.deviate(np.array([0.1]))[0])

    def fallen(mu_of_sigma: Callable[[float], float]) -> float:
        best = minimize_scalar(
            lambda s: -log_likelihood(family, lives, mu_of_sigma(np.exp(s)), np.exp(s)),
            bounds=(-3.5, 3.0),
            method="bounded",
            options={"xatol": 1e-10},
        )
        assert fit.log_likelihood is not None
        return 2 * (fit.log_likelihood + float(best.fun))

    wanted = chdtri(1, 1 - level)
    for limit in (tenth.lower, tenth.upper):
        assert limit is not None
        log_limit = np.log(limit)
        assert fallen(lambda s, at=log_limit: at - deviate * s) == pytest.approx(wanted, rel=1e-5)
    for limit in (at_3000.lower, at_3000.upper):
        assert limit is not None
        z = float(standard.deviate(np.array([1 - limit]))[0])
        assert fallen(lambda s, z=z: np.log(3000) - z * s) == pytest.approx(wanted, rel=1e-5)


@every_family
def test_survival_at_its_own_quantile_is_the_share(family: FamilyName) -> None:
    fit = law_fit(MIXED, family=family)
    tenth = found(fit.quantile(0.1))
    sound = found(fit.survival_at(tenth.value))
    assert sound.value == pytest.approx(0.9, rel=1e-12)
    # A share of 0.9 within the limits of survival, and back: the region is one and the same.
    assert tenth.lower is not None
    assert tenth.upper is not None
    assert found(fit.survival_at(tenth.lower)).lower == pytest.approx(0.9, rel=1e-6)
    assert found(fit.survival_at(tenth.upper)).upper == pytest.approx(0.9, rel=1e-6)


def test_wald_limits_of_survival_equal_the_delta_method_by_hand() -> None:
    # Constant rate, 5 failures over 25 800: log H has standard error 1 / sqrt(5).
    sound = found(law_fit(table_of(EXIT, FAILED), family="exponential").survival_at(3000))
    hazard = 3000 * 5 / 25_800
    width = np.exp(1.959963985 / 5**0.5)
    assert sound.value == pytest.approx(np.exp(-hazard))
    assert sound.wald_lower == pytest.approx(np.exp(-hazard * width))
    assert sound.wald_upper == pytest.approx(np.exp(-hazard / width))
    assert sound.standard_error == pytest.approx(np.exp(-hazard) * hazard / 5**0.5)


def test_survival_at_the_start_is_one() -> None:
    sound = found(law_fit(MIXED, family="lognormal").survival_at(0))
    assert (sound.value, sound.lower, sound.upper) == (1.0, 1.0, 1.0)


@every_family
def test_table_and_lives_together_equal_all_lives_at_once(family: FamilyName) -> None:
    exact = table_of([15, 22, 40], [1, 1, 0], weight=[1, 1, 3])
    rest = IntervalLives([10, 0, 5, 30, 60], [20, 30, 9, 45, np.inf], weight=[2, 1, 1, 2, 1])
    both, once = law_fit(exact, family=family, intervals=rest), law_fit(MIXED, family=family)
    assert mu_sigma(both) == pytest.approx(mu_sigma(once), rel=1e-9)
    assert (both.n, both.failed, both.unit) == (once.n, once.failed, "steps")
    assert both.log_likelihood == pytest.approx(once.log_likelihood)


@every_family
def test_weights_count_as_repeated_lives_in_any_order(family: FamilyName) -> None:
    times = MIXED.weight.astype(int)
    order = np.random.default_rng(3).permutation(int(times.sum()))
    repeated = IntervalLives(*(np.repeat(each, times)[order] for each in (MIXED.left, MIXED.right)))
    once, again = law_fit(MIXED, family=family), law_fit(repeated, family=family)
    assert once.law == again.law
    assert (once.scale, once.shape) == (again.scale, again.shape)


@every_family
@pytest.mark.parametrize("factor", [1e-3, 1e7])
def test_scaling_the_clock_scales_the_scale_alone(family: FamilyName, factor: float) -> None:
    scaled = IntervalLives(MIXED.left * factor, MIXED.right * factor, weight=MIXED.weight)
    once, there = law_fit(MIXED, family=family), law_fit(scaled, family=family)
    for one, other in ((once.scale, there.scale), (once.quantile(0.1), there.quantile(0.1))):
        assert found(other).value == pytest.approx(found(one).value * factor, rel=1e-8)
        assert found(other).lower == pytest.approx(found(one).lower * factor, rel=1e-6)
        assert found(other).wald_upper == pytest.approx(found(one).wald_upper * factor, rel=1e-6)
    assert mu_sigma(there)[1] == pytest.approx(mu_sigma(once)[1], rel=1e-8)
    assert found(there.survival_at(20 * factor)).lower == pytest.approx(
        found(once.survival_at(20)).lower, rel=1e-6
    )


@each_family
def test_shrinking_intervals_tend_to_exact_failures(family: FamilyName) -> None:
    exact = law_fit(as_lives(EXIT, FAILED), family=family)
    off = []
    for width in (1000.0, 100.0, 1.0, 1e-3):
        ends = np.asarray(EXIT, float)
        right = np.where(np.asarray(FAILED) == 1, ends + width / 2, np.inf)
        left = np.where(np.asarray(FAILED) == 1, ends - width / 2, ends)
        fit = law_fit(IntervalLives(left, right), family=family)
        off.append(float(np.abs(np.subtract(mu_sigma(fit), mu_sigma(exact))).max()))
    assert off[0] > off[1] > off[2]
    assert off[3] < 1e-9


@every_family
def test_capture_share_keeps_the_information_of_seen_failures(family: FamilyName) -> None:
    rng = np.random.default_rng(4)
    life = np.ceil(1000 * rng.weibull(2.5, 300)).astype(int)
    lives = LivesArrays(
        np.zeros(300), np.minimum(life, 900), life <= 900, capture=np.full(300, 0.5)
    )
    corrected = law_fit(RiskTable.from_lives(lives, unit="km"), family=family)
    seen = law_fit(table_of(np.minimum(life, 900), life <= 900), family=family)
    assert corrected.failed == seen.failed
    ratio = found(corrected.scale).standard_error / found(corrected.scale).value
    if family == "exponential":
        # Twice the rate, known as well as before.
        assert found(corrected.scale).value == pytest.approx(found(seen.scale).value / 2)
        assert ratio == pytest.approx(found(seen.scale).standard_error / found(seen.scale).value)
    else:
        assert found(corrected.median).value < 0.9 * found(seen.median).value
        assert found(corrected.shape).standard_error > 0.9 * found(seen.shape).standard_error


@pytest.mark.parametrize(
    ("family", "law"),
    [
        ("exponential", WeibullLaw),
        ("weibull", WeibullLaw),
        ("lognormal", LognormalLaw),
        ("log-logistic", LogLogisticLaw),
    ],
)
def test_law_says_what_the_fit_says(family: FamilyName, law: type) -> None:
    fit = law_fit(MIXED, family=family)
    assert isinstance(fit.law, law)
    assert float(fit.law.survival(25)) == pytest.approx(found(fit.survival_at(25)).value)
    assert float(fit.law.quantile(0.2)) == pytest.approx(found(fit.quantile(0.2)).value)
    assert fit.law.median == pytest.approx(found(fit.median).value)


def test_aic_counts_the_parameters_fitted() -> None:
    for fixed, parameters in ((None, 2), (2.0, 1)):
        fit = law_fit(MIXED, family="lognormal", fixed_shape=fixed)
        assert fit.log_likelihood is not None
        assert fit.aic == pytest.approx(2 * parameters - 2 * fit.log_likelihood)


def test_fixed_shape_equals_a_search_over_the_scale_alone() -> None:
    fit = law_fit(MIXED, family="log-logistic", fixed_shape=2.0)
    mus = np.linspace(2.5, 4.5, 801)
    heights = np.array([log_likelihood("log-logistic", MIXED, mu, 0.5) for mu in mus])
    inside = mus[heights > heights.max() - chdtri(1, 0.05) / 2]
    scale = found(fit.scale)
    assert fit.shape is None
    assert np.log(scale.value) == pytest.approx(mus[np.argmax(heights)], abs=3e-3)
    assert np.log([scale.lower, scale.upper]) == pytest.approx([inside[0], inside[-1]], abs=5e-3)
