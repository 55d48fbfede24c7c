"""Units of pressure, in pascals: those that a display without a unit may be showing."""

from fractions import Fraction

# By the definitions of NIST SP 811, appendix B.8: pound, standard gravity and inch are exact; inch
# and millimetre of mercury and of water are the conventional ones.
_PSI = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2
PA_PER_UNIT: dict[str, Fraction] = {
    "Pa": Fraction(1),
    "hPa (= mbar)": Fraction(100),
    "kPa": Fraction(1000),
    "bar": Fraction(100_000),
    "psi": _PSI,
    "inHg": Fraction("3386.389"),
    "inH2O": Fraction("249.08891"),
    "mmHg": Fraction("133.322387415"),
    "mmH2O": Fraction("9.80665"),
}
PA_PER_MBAR = 100
NONE_OF_THESE = "none of these"
_BY_SPELLING = {
    name.casefold(): factor for name, factor in PA_PER_UNIT.items() if name.isalnum()
} | {"hpa": Fraction(PA_PER_MBAR), "mbar": Fraction(PA_PER_MBAR)}


def pa_per_unit(text: str) -> Fraction | None:
    """How many pascals is one of the unit so written? None for one that is not known.

    Examples
    --------
    >>> pa_per_unit("mBar"), pa_per_unit("in Hg"), pa_per_unit("stone")
    (Fraction(100, 1), Fraction(3386389, 1000), None)
    """
    return _BY_SPELLING.get("".join(text.split()).casefold())
