"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Ground(models.TextChoices):
    """What the system would stand on."""

    SLAB = "slab", _("concrete slab on the ground")
    PAVING = "paving", _("paving or gravel on the ground")
    SOIL = "soil", _("soil or lawn")
    DECK = "deck", _("timber deck")
    FLOOR = "floor", _("floor of a building")
    ROOF = "roof", _("roof or balcony")


class Wind(models.TextChoices):
    """How much wind comes there."""

    SHELTERED = "sheltered", _("sheltered")
    OPEN = "open", _("open")
    STORMS = "storms", _("storm coast")


class Source(models.TextChoices):
    """Where the water would come from."""

    TAP = "tap", _("tap")
    WELL = "well", _("well")
    RAIN = "rain", _("rain tank")
    SURFACE = "surface", _("pond, stream or canal")


class Rcd(models.TextChoices):
    """What the test button of the residual-current device did."""

    TRIPS = "trips", _("trips when tested")
    UNTESTED = "untested", _("there, not tested")
    FAILS = "fails", _("does not trip")
    NONE = "none", _("there is none")


class Known(models.TextChoices):
    """Yes, no, or nobody knows."""

    YES = "yes", _("yes")
    NO = "no", _("no")
    UNKNOWN = "unknown", _("not known")


class Drain(models.TextChoices):
    """Where drained water can go."""

    GARDEN = "garden", _("own soil garden")
    SEWER = "sewer", _("sewer of the house")
    SHARED = "shared", _("drain shared with others")
    STORM = "storm", _("storm drain only")
    NOWHERE = "nowhere", _("nowhere yet")


class Allowed(models.TextChoices):
    """What the authority says of the fish."""

    NOT_ASKED = "not_asked", _("not asked yet")
    FREE = "free", _("may be kept")
    PERMIT = "permit", _("may be kept with a permit")
    REFUSED = "refused", _("may not be kept")


class Consent(models.TextChoices):
    """Whether whoever owns the ground agrees."""

    OWN = "own", _("the client owns it")
    GIVEN = "given", _("rented, the owner agrees in writing")
    ASKED = "asked", _("rented, the owner is asked")
    REFUSED = "refused", _("the owner does not agree")


class Answer(models.TextChoices):
    """Where a proposal stands."""

    OPEN = "open", _("open")
    ACCEPTED = "accepted", _("accepted")
    DECLINED = "declined", _("declined")


class Said(models.TextChoices):
    """What a client says on their page to a proposal: a note to the office, nothing that binds."""

    WANTED = "wanted", _("would like this")
    QUESTION = "question", _("has a question")


class Stand(models.TextChoices):
    """Where a proposal is, and so who is waited for."""

    DRAFT = "draft", _("not sent yet")
    ASKED = "asked", _("the client has written")
    SENT = "sent", _("with the client")
    EXPIRED = "expired", _("no longer valid")
    ACCEPTED = "accepted", _("accepted, not built")
    BUILT = "built", _("built")
    DECLINED = "declined", _("declined")


# for whom a proposal waits; of the others nobody is waited for
FOR_US = (Stand.DRAFT, Stand.ASKED, Stand.EXPIRED, Stand.ACCEPTED)
FOR_CLIENT = (Stand.SENT,)
