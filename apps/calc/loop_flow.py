"""Flow through a loop: what must pass so that what fish make does not pile up."""

from apps.calc.quantities import require

HOURS = 24.0


def needed_l_h(load_g_day: float, drop_mg_l: float) -> float:
    """Return the flow [L/h] that carries a load away when each pass takes ``drop_mg_l`` out.

    Q = 1000 P / (24 dC), the balance of a steady loop. Parameters: load [g/day], drop [mg/L].
    Valid range: 0 to 999 999 g/day, 0.001 to 1000 mg/L; ValueError outside. References: timmons.

    >>> needed_l_h(9.27, 0.5)
    772.5
    """
    drop = require("drop_mg_l", drop_mg_l)
    return 1000 * require("load_g_day", load_g_day) / (HOURS * drop)


def steady_mg_l(load_g_day: float, flow_l_h: float, removal_share: float) -> float:
    """Return the concentration [mg/L] at which a load and its removal are even.

    C = 1000 P / (24 Q E). Parameters: load [g/day], flow [L/h], share taken out at each pass.
    Valid range: those of the quantities; ValueError outside. References: timmons.

    >>> steady_mg_l(9.27, 773, 0.5)
    1.00
    """
    taken = require("flow_l_h", flow_l_h) * require("removal_share", removal_share)
    return 1000 * require("load_g_day", load_g_day) / (HOURS * taken)
