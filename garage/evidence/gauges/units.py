"""Units of pressure, in pascals: those that a display without a unit may be showing."""

from fractions import Fraction

from garage.evidence.quantities.units import Dimension, unit_of, units_of

_PRESSURES = {each.symbol: each.factor for each in units_of(Dimension.PRESSURE)}
# One slope cannot part hPa from mbar, so the two are one candidate.
_CANDIDATES = {"hPa": "hPa (= mbar)"}
PA_PER_UNIT: dict[str, Fraction] = {
    _CANDIDATES.get(symbol, symbol): _PRESSURES[symbol]
    for symbol in ("Pa", "hPa", "kPa", "bar", "psi", "inHg", "inH2O", "mmHg", "mmH2O")
}
PA_PER_MBAR = int(_PRESSURES["mbar"])
NONE_OF_THESE = "none of these"


def pa_per_unit(text: str) -> Fraction | None:
    """How many pascals is one of the unit so written? None for one that is not known.

    Examples
    --------
    >>> pa_per_unit("mBar"), pa_per_unit("in Hg"), pa_per_unit("stone")
    (Fraction(100, 1), Fraction(3386389, 1000), None)
    """
    unit = unit_of(text, Dimension.PRESSURE)
    return None if unit is None else unit.factor


def symbol_of(candidate: str) -> str:
    """The unit of a candidate as it is written down.

    Examples
    --------
    >>> symbol_of("hPa (= mbar)"), symbol_of("kPa")
    ('hPa', 'kPa')
    """
    for symbol, name in _CANDIDATES.items():
        if name == candidate:
            return symbol
    return candidate
