"""When letters to clients wait, and those that the office writes itself."""

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.core.fields import LongWordsField, WordsField
from apps.office.forms.base import ClockField, DayField, NumberField
from apps.reports.choices import LetterKind


class QuietForm(forms.Form):
    """The firm's quiet hours, on the clock of whoever gets a letter."""

    quiet_from = ClockField(label=_("Quiet from"))
    quiet_until = ClockField(
        label=_("Until"),
        help_text=_("On the reader's own clock. Both the same: letters go out at any hour."),
    )


class NoticesForm(forms.Form):
    """When clients are written to by itself."""

    quiet_client_days = NumberField(
        label=_("Ask a client how it goes after"), low=0, high=730, whole=True, unit=_("days"),
        help_text=_("Days without a visit, a call or an answer. 0: never."),
    )  # fmt: skip
    renewal_days = NumberField(
        label=_("Write that an agreement ends"), low=0, high=180, whole=True, unit=_("days before"),
        help_text=_("0: never by itself. It stands on Due, and you write."),
    )  # fmt: skip
    low_stock_days = NumberField(
        label=_("Say that the feed at a place runs out"), low=0, high=60, whole=True,
        unit=_("days before"), help_text=_("0: never. Else it stands on Due from then on."),
    )  # fmt: skip
    low_stock_letters = forms.BooleanField(
        label=_("Write to the client by itself then"), required=False,
        help_text=_("Without this tick it stands on Due, and you write."),
    )  # fmt: skip


class OwnForm(forms.Form):
    """A letter in the office's own words."""

    subject = WordsField(label=_("What it is about"), max_length=120)
    words = LongWordsField(label=_("What it says"), max_length=4000)


class LowStockForm(forms.Form):
    """What runs out at a client's place."""

    # the count that says so, where a line on Due led here
    count = forms.UUIDField(required=False, widget=forms.HiddenInput)
    what = WordsField(label=_("What runs out"), max_length=120, help_text=_("such as: Fish feed"))
    until = DayField(label=_("Lasts until about"), required=False)
    words = LongWordsField(label=_("A few words of ours"), max_length=1000, required=False)


class RenewalForm(forms.Form):
    """When the agreement ends."""

    until = DayField(label=_("Ends on"))
    words = LongWordsField(
        label=_("A few words of ours"), max_length=1000, required=False,
        help_text=_("What the year brought, what the next one costs."),
    )  # fmt: skip


LETTER_FORMS: dict[str, type[forms.Form]] = {
    LetterKind.OWN: OwnForm,
    LetterKind.LOW_STOCK: LowStockForm,
    LetterKind.RENEWAL: RenewalForm,
}
