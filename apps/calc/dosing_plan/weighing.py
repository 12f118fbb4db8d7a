"""From exact grams to what a scale can weigh and what a bucket can hold."""

import math

from apps.calc.dosing_plan.products import Product
from apps.calc.recipe.solve import SCALES_G

BUCKET_L = 10.0
LEAST_BUCKET_L = 2.0
# a millionth of a division, so that what is exact in grams is not taken for a hair less
_HAIR = 1e-6


def weighed(exact_g: float, scale_g: float) -> float:
    """Return the grams [g] that a scale showing ``scale_g`` can weigh, never more than ``exact_g``.

    Valid range: scale_g of 0.01, 0.1 or 1 g, grams from 0; ValueError outside. Source: geometry.

    >>> weighed(28.66, 0.1), weighed(0.09, 0.1)
    (28.6, 0.0)
    """
    if scale_g not in SCALES_G:
        message = f"scale_g must be one of {', '.join(f'{s:g}' for s in SCALES_G)}, not {scale_g:g}"
        raise ValueError(message)
    if not exact_g >= 0:
        message = f"exact_g must be at least 0, not {exact_g:g}"
        raise ValueError(message)
    return round(math.floor(exact_g / scale_g + _HAIR) * scale_g, 2)


def bucket_litres(product: Product, grams: float) -> float:
    """Return the water [L] to dissolve ``grams`` of a product in, in whole litres, at least 2.

    References: practice, crc.
    """
    return max(LEAST_BUCKET_L, float(math.ceil(grams / product.most_g_l - _HAIR)))


def buckets(litres: float) -> int:
    """Return into how many buckets of 10 L the water goes. Source: geometry.

    >>> buckets(2), buckets(10), buckets(33)
    (1, 1, 4)
    """
    return max(1, math.ceil(litres / BUCKET_L - _HAIR))
