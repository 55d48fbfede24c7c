"""Vehicle identification numbers by ISO 3779, with the check digit where the region uses it."""

import re

from garage.records.errors import RuleBroken

LENGTH = 17
CHARACTERS = re.compile(r"[0-9A-HJ-NPR-Z]+")

#: First characters of the region (ISO 3780) whose law makes position 9 a check digit:
#: North America, 49 CFR 565.15 and CMVSS 115. Elsewhere position 9 is free.
CHECK_DIGIT_REGIONS = frozenset("12345")

#: 49 CFR 565.15, tables III (assigned values) and IV (weights by position).
VALUES = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", map(int, "12345678123457923456789"), strict=True)) | {
    str(digit): digit for digit in range(10)
}
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


def check_character(vin: str) -> str:
    """The character that 49 CFR 565.15 wants in position 9 of these 17 characters."""
    total = sum(VALUES[character] * weight for character, weight in zip(vin, WEIGHTS, strict=True))
    remainder = total % 11
    return "X" if remainder == 10 else str(remainder)


def vin_check(text: str) -> str:
    """The number in upper case without blanks, or RuleBroken saying which rule it breaks."""
    vin = "".join(text.split()).upper()
    if len(vin) != LENGTH:
        raise RuleBroken(
            "a VIN has 17 characters (ISO 3779)",
            got=f"{vin} ({len(vin)} characters)",
            do="Read it again from the plate or papers; leave it empty if it cannot be read.",
            column="vin",
        )
    if CHARACTERS.fullmatch(vin) is None:
        raise RuleBroken(
            "a VIN has digits and capital letters without I, O and Q (ISO 3779)",
            got=vin,
            do="Check 1 against I, and 0 against O or Q.",
            column="vin",
        )
    if vin[0] in CHECK_DIGIT_REGIONS and vin[8] != check_character(vin):
        raise RuleBroken(
            f"position 9 of this VIN must be the check digit {check_character(vin)} "
            "(49 CFR 565.15)",
            got=vin,
            do="One character is misread; compare it with the plate.",
            column="vin",
        )
    return vin
