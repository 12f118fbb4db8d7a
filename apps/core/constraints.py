"""Named constraints, made from the same lists that the forms use."""

from django.db import models
from django.db.models import F, Q
from django.utils.functional import lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

# models are read before a language is known: filled in when shown
_not_listed = lazy(
    lambda field: _("%(field)s must be one of the listed words") % {"field": field}, str
)
_negative = lazy(lambda field: _("%(field)s must not be negative") % {"field": field}, str)
_outside = lazy(
    lambda field, low, high: (
        _("%(field)s must lie between %(low)s and %(high)s")
        % {"field": field, "low": f"{low:g}", "high": f"{high:g}"}
    ),
    str,
)
_out_of_order = lazy(
    lambda first, second: (
        _("%(second)s must come after %(first)s") % {"first": first, "second": second}
    ),
    str,
)
_half_a_position = gettext_lazy("give latitude and longitude, or neither")


def known(field: str, choices: type[models.TextChoices], name: str) -> models.CheckConstraint:
    """Return a check that the field holds one of its choices."""
    return models.CheckConstraint(
        name=name,
        condition=Q(**{f"{field}__in": list(choices.values)}),
        violation_error_message=_not_listed(field),
    )


def positive(field: str, name: str, *, zero: bool = False) -> models.CheckConstraint:
    """Return a check that the amount is above zero (or not below, where zero is allowed)."""
    lookup = "gte" if zero else "gt"
    return models.CheckConstraint(
        name=name,
        condition=Q(**{f"{field}__{lookup}": 0}) | Q(**{f"{field}__isnull": True}),
        violation_error_message=_negative(field),
    )


def between(field: str, low: float, high: float, name: str) -> models.CheckConstraint:
    """Return a check that the figure lies between two others, both ends counting, where given."""
    return models.CheckConstraint(
        name=name,
        condition=Q(**{f"{field}__range": (low, high)}) | Q(**{f"{field}__isnull": True}),
        violation_error_message=_outside(field, low, high),
    )


def ordered(first: str, second: str, name: str, *, strict: bool = True) -> models.CheckConstraint:
    """Return a check that `second` lies after `first`, where both are given."""
    lookup = "gt" if strict else "gte"
    return models.CheckConstraint(
        name=name,
        condition=Q(**{f"{second}__{lookup}": F(first)})
        | Q(**{f"{first}__isnull": True})
        | Q(**{f"{second}__isnull": True}),
        violation_error_message=_out_of_order(first, second),
    )


def on_earth(latitude: str, longitude: str, name: str) -> models.CheckConstraint:
    """Return a check that both are given and lie on the earth, or neither is given."""
    neither = Q(**{f"{latitude}__isnull": True, f"{longitude}__isnull": True})
    # said twice, as a check that compares with nothing is passed
    given = Q(**{f"{latitude}__isnull": False, f"{longitude}__isnull": False})
    both = given & Q(**{f"{latitude}__range": (-90, 90), f"{longitude}__range": (-180, 180)})
    return models.CheckConstraint(
        name=name,
        condition=neither | both,
        violation_error_message=_half_a_position,
    )
