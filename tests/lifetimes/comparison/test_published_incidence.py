"""Gray's test on published transplants: every printed digit of two documents."""

import numpy as np
import pytest

from garage.lifetimes.comparison.cumulative_incidence_test import cumulative_incidence_test
from garage.lifetimes.risk_table import RiskTable
from tests.lifetimes.conftest import table_of

# Times of each group: relapsed, died before, left the watch.
#
# 137 transplants in three disease groups, days (Klein and Moeschberger, Survival Analysis, 2nd
# edition 2003, section 1.3; as typed in the documentation of the clinical group CAMIS).
TRANSPLANTED_DAYS = (
    (
        "55 74 104 109 110 122 129 192 230 383 609 662",
        "1 86 107 122 172 194 276 332 418 466 487 526",
        "226 530 996 1111 1167 1182 1199 1330 1377 1433 1462 1496 1602 2081",
    ),
    (
        "211 219 248 272 381 421 486 606 748",
        "10 35 48 53 79 80 105 288 390 414 481 641 704 1063 1074 2204",
        (
            "847 848 860 932 957 1030 1258 1324 1363 1384 1447 1470 1527 1535 1562 1568 1674 "
            "1709 1799 1829 1843 1850 1857 1870 2218 2246 2409 2506 2569"
        ),
    ),
    (
        "32 47 47 48 64 76 84 93 100 113 115 120 157 242 268 273 390 422 456 467 625",
        "2 16 63 74 80 105 162 164 168 183 318 363 677",
        "845 1136 1238 1345 1631 2024 2133 2140 2252 2430 2640",
    ),
)

# 177 transplants in two disease groups, hundredths of a month (`bmtcrr` of R's package casebase;
# Scrucca, Santucci and Aversa, Bone Marrow Transplantation 45, 2010, from memory).
TRANSPLANTED_HUNDREDTHS = (
    (
        (
            "110 123 167 170 180 187 200 223 240 253 287 307 357 363 407 423 537 613 753 757 "
            "763 793 863 943 1030 1307 1723 2083"
        ),
        (
            "27 37 40 67 87 110 143 147 170 223 270 280 323 330 343 363 417 543 600 603 660 747 "
            "750 800 817 1053 1217 2403"
        ),
        "1613 1683 1990 2477 2920 3550 4367 4530 5660 7183 7293 8260 11223 12110 12390 12483 13177",
    ),
    (
        (
            "120 130 160 187 203 230 253 303 420 473 500 560 563 570 587 600 607 620 663 700 "
            "763 913 950 1227 1257 2853 3500 4217"
        ),
        (
            "13 87 100 123 147 177 197 200 230 280 283 317 340 347 350 357 357 360 370 390 393 "
            "440 440 457 457 480 523 527 610 630 633 670 720 720 763 860 873 880 900 917 920 "
            "963 997 1090 1180 1380 2093"
        ),
        (
            "997 1020 1450 1517 1660 2613 2870 2990 3263 3550 4130 4250 4320 4927 5800 5823 "
            "5917 6780 6883 7020 7603 7700 8167 8510 10613 11037 11293 11410 11470"
        ),
    ),
)


def tables_of(groups: tuple[tuple[str, str, str], ...]) -> list[RiskTable]:
    tables = []
    for group in groups:
        times = [np.array(each.split(), np.int64) for each in group]
        cause = np.repeat([1, 2, 0], [len(each) for each in times])
        tables.append(table_of(np.concatenate(times), cause, causes=2))
    return tables


@pytest.mark.parametrize(
    ("cause", "statistic", "p_value", "failed"),
    [("cause 1", 11.9228820, 0.0025762, 42), ("cause 2", 0.1374108, 0.9336017, 41)],
)
def test_three_disease_groups_equal_the_printed_tests(
    cause: str, statistic: float, p_value: float, failed: int
) -> None:
    # CAMIS, "Estimating cumulative incidence functions using R": tidycmprsk 1.1.0, cmprsk 2.2-12.
    found = cumulative_incidence_test(tables_of(TRANSPLANTED_DAYS), cause=cause)
    assert found.statistic == pytest.approx(statistic, abs=6e-8)
    assert found.p_value == pytest.approx(p_value, abs=6e-8)
    assert (found.n, found.failed, found.degrees_of_freedom) == (137, failed, 2)


@pytest.mark.parametrize(
    ("cause", "statistic", "p_value", "failed"),
    [("cause 1", 2.8623325, 0.09067592, 56), ("cause 2", 0.4481279, 0.50322531, 75)],
)
def test_two_disease_groups_equal_the_printed_tests(
    cause: str, statistic: float, p_value: float, failed: int
) -> None:
    # Printed by a course on competing risks that runs R's cmprsk on `bmtcrr`.
    found = cumulative_incidence_test(tables_of(TRANSPLANTED_HUNDREDTHS), cause=cause)
    assert found.statistic == pytest.approx(statistic, abs=6e-8)
    assert found.p_value == pytest.approx(p_value, abs=6e-9)
    assert (found.n, found.failed, found.degrees_of_freedom) == (177, failed, 1)
