"""What is said in fixed figures, once more for readers of US units; never laxer than the first."""

from collections.abc import Mapping

from apps.calc.wording import text as _

# 2 °C is a step of 3.6 °F. Ten pounds of ice take 1.5 MJ to melt and 0.4 MJ to come to 20 °C;
# 250 US gallons hold 4.0 MJ a kelvin, 2.2 MJ a °F.
IN_US: Mapping[str, str] = {
    "New water within 2 °C and 0.3 pH of the tank.": _(
        "New water within 3 °F and 0.3 pH of the tank."
    ),
    "Harvest leaves early in the morning; sow indoors, below 26 °C.": _(
        "Harvest leaves early in the morning; sow indoors, below 78 °F."
    ),
    "Do not count on ice: a kilogram cools 1,000 litres by about a tenth of a degree.": _(
        "Do not count on ice: ten pounds cool 250 US gallons by less than one degree."
    ),
}
