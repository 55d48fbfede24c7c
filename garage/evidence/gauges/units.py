"""The units that a display without a unit may be showing, in pascals."""

from fractions import Fraction

# Conventional inch and millimetre of mercury and of water, as in ISO 80000-4; from memory.
PA_PER_UNIT: dict[str, Fraction] = {
    "Pa": Fraction(1),
    "hPa (= mbar)": Fraction(100),
    "kPa": Fraction(1000),
    "bar": Fraction(100_000),
    "psi": Fraction("6894.757293168"),
    "inHg": Fraction("3386.389"),
    "inH2O": Fraction("249.08891"),
    "mmHg": Fraction("133.322387415"),
    "mmH2O": Fraction("9.80665"),
}
NONE_OF_THESE = "none of these"
