"""Difference of restricted means on published lives: what two programs print alike."""

import numpy as np
import pytest

from garage.lifetimes.comparison.restricted_means import restricted_means_compared
from garage.lifetimes.curves.product_limit import SurvivalCurve, product_limit
from tests.lifetimes.conftest import table_of

# Days of 228 patients with lung cancer (Loprinzi and others 1994, `lung` of R's package survival),
# the first 158 of whom a teaching set of the clinical group CAMIS calls active, the others placebo.
ACTIVE_DIED = (
    "5 11 11 11 12 13 15 26 30 31 53 53 54 60 60 61 62 65 65 71 81 88 88 92 93 95 95 107 "
    "107 118 122 132 132 144 145 147 153 156 156 163 163 163 166 166 167 170 175 176 177 "
    "179 181 182 189 199 201 201 202 207 208 210 212 218 222 223 226 229 230 239 245 246 "
    "267 283 284 288 291 293 301 303 305 306 310 310 329 337 340 345 351 353 353 361 363 "
    "363 364 371 371 387 390 394 426 428 429 433 442 444 450 455 457 460 473 477 519 520 "
    "524 524 533 550 558 567 574 583 613 624 641 643 654 655 687 689 705 707 728 731 735 "
    "765 791 814 883"
)
ACTIVE_LEFT = (
    "196 315 356 364 404 444 458 511 511 529 543 551 559 588 740 806 821 840 965 1010 1022"
)
PLACEBO_DIED = (
    "13 59 79 81 105 110 116 131 135 142 145 179 180 181 183 186 194 197 239 268 269 270 "
    "285 285 286 320 348 350"
)
PLACEBO_LEFT = (
    "92 105 173 174 175 177 185 188 191 192 197 202 203 211 221 222 224 225 225 235 237 "
    "240 243 252 259 266 269 272 276 279 284 292 292 296 300 301 303 332 376 382 384 413"
)


def curve_of(died: str, left: str) -> SurvivalCurve:
    days = [np.array(each.split(), np.int64) for each in (died, left)]
    cause = np.repeat([1, 0], [len(each) for each in days])
    return product_limit(table_of(np.concatenate(days), cause))


def test_two_arms_within_350_days_equal_the_printed_contrast() -> None:
    # CAMIS, "R vs SAS - Restricted mean survival time", method 3: SAS PROC LIFETEST and R's
    # survRM2 print the same figures.
    active = curve_of(ACTIVE_DIED, ACTIVE_LEFT)
    placebo = curve_of(PLACEBO_DIED, PLACEBO_LEFT)
    found = restricted_means_compared(active, placebo, until=350)
    difference = found.difference
    assert difference is not None
    assert difference.standard_error is not None
    printed = [
        (found.first.value, 248.2156),
        (found.first.standard_error, 9.2343),
        (found.second.value, 272.9520),
        (found.second.standard_error, 11.9889),
        (found.first.lower, 230.1166),
        (found.first.upper, 266.3146),
        (found.second.lower, 249.4542),
        (found.second.upper, 296.4499),
        (difference.value, -24.7364),
        (difference.standard_error, 15.1330),
        (difference.lower, -54.3965),
        (difference.upper, 4.9237),
        (difference.p_value, 0.1021),
        ((difference.value / difference.standard_error) ** 2, 2.6719),
    ]
    ours, wanted = zip(*printed, strict=True)
    assert ours == pytest.approx(wanted, abs=6e-5)
    assert (found.n, found.failed) == (228, 165)
