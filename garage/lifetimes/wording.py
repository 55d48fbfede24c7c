"""How numbers are written in the reasons that travel with results."""


def spoken(number: float, unit: str = "") -> str:
    """A number with its thousands apart and its unit: 141 250 km.

    Examples
    --------
    >>> spoken(141250, "km")
    '141 250 km'
    >>> spoken(2.5)
    '2.5'
    """
    text = f"{number:,.0f}" if float(number).is_integer() else f"{number:,.6g}"
    return f"{text.replace(',', ' ')} {unit}".rstrip()
