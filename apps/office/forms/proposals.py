"""What the firm's prices, a proposal's terms and a client's answer are typed into."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.batches.choices import Per
from apps.batches.selectors import PriceKey
from apps.calc.pricing import HOURS, MONEY
from apps.core.fields import LongWordsField, WordsField
from apps.office.forms.base import AmountField, DayField, DoneDayField, NumberField, RevForm
from apps.office.forms.doubts import DoubtedForm
from apps.proposals.choices import Answer
from apps.proposals.models import Proposal, ProposalVersion

MOST = 999_999  # of a currency, for one unit
EXTRAS = 5
SHARE = 100  # hundredths of a per cent
# asked about where it stands at 0
ZEROS = {
    "hours": _("No work is in the price: keep it at 0 hours?"),
    "margin": _("No margin is on parts and supplies: keep it at 0 %?"),
    "tax": _("The paper says that the tax is 0 %: keep it at 0?"),
}


def _price_field(label: str, currency: str, unit: str) -> AmountField:
    per = _now("%(currency)s per %(unit)s") if unit else _now("%(currency)s each")
    return AmountField(
        label=label, high=MOST, places=4, required=False,
        unit=per % {"currency": currency, "unit": unit},
    )  # fmt: skip


def _ten_thousandths(amount: Decimal | None) -> int | None:
    return None if amount is None else int(amount * MONEY)


def _decimal(amount: int | None) -> Decimal | None:
    return None if amount is None else Decimal(amount) / MONEY


class PricesForm(forms.Form):
    """The firm's prices: `named` are (code, name, unit)."""

    def __init__(
        self, *args: Any, named: Iterable[tuple[str, str, str]], currency: str, **more: Any
    ) -> None:
        super().__init__(*args, **more)
        for code, name, unit in named:
            self.fields[f"price_{code}"] = _price_field(name, currency, unit)

    @staticmethod
    def initial_of(prices: Mapping[str, int]) -> dict[str, Any]:
        """Return what stands as the values of the boxes."""
        return {f"price_{code}": _decimal(amount) for code, amount in prices.items()}

    def prices(self) -> dict[str, int | None]:
        """Return code -> ten-thousandths, None where the box is empty."""
        return {
            name.removeprefix("price_"): _ten_thousandths(value)
            for name, value in self.cleaned_data.items()
            if name.startswith("price_")
        }


class HarvestPricesForm(forms.Form):
    """What a harvest costs: `named` are (name, (kind, code, per)), `held` what stands so far."""

    def __init__(
        self,
        *args: Any,
        named: Iterable[tuple[str, PriceKey]],
        held: Mapping[PriceKey, int],
        currency: str,
    ) -> None:
        super().__init__(*args)
        self.keys: dict[str, PriceKey] = {}
        for name, key in named:
            box = self.box(key)
            label = name if key[2] == Per.KG else _now("%(name)s, by number") % {"name": name}
            field = _price_field(label, currency, _now("kg") if key[2] == Per.KG else "")
            field.initial = _decimal(held.get(key))
            self.fields[box], self.keys[box] = field, key

    @staticmethod
    def box(key: PriceKey) -> str:
        """Return the name of a price's box."""
        kind, code, per = key
        return f"{kind}-{code}" if per == Per.KG else f"{kind}-{code}-{per}"

    def prices(self) -> dict[PriceKey, int | None]:
        """Return (kind, code, per) -> ten-thousandths, None where the box is empty."""
        return {key: _ten_thousandths(self.cleaned_data[name]) for name, key in self.keys.items()}


class ProposalForm(PricesForm, DoubtedForm, RevForm):
    """A proposal's words, prices and terms."""

    name = WordsField(label=_("What it is called"), max_length=120)
    words = LongWordsField(
        label=_("Words to the client"), max_length=2000, required=False,
        help_text=_("They stand first on the paper, as typed."),
    )  # fmt: skip
    valid_until = DayField(label=_("Valid until"))
    margin = NumberField(
        label=_("Margin on parts and supplies"), low=0, high=500, unit="%", required=False,
        help_text=_("It is in the prices on the paper, and not told apart."),
    )  # fmt: skip
    hours = NumberField(label=_("Work"), low=0, high=10_000, unit=_("h"), required=False)
    rate = AmountField(label=_("For an hour"), high=MOST, required=False)
    tax = NumberField(
        label=_("Tax"), low=0, high=100, unit="%", required=False,
        help_text=_("Left empty: the paper says that taxes are not in the price."),
    )  # fmt: skip
    left_out = LongWordsField(
        label=_("What else is not in the price"), max_length=2000, required=False,
        help_text=_("A line each. Wiring, permits and what it uses when it runs stand there anyway."),
    )  # fmt: skip

    def __init__(self, *args: Any, currency: str, **more: Any) -> None:
        super().__init__(*args, currency=currency, **more)
        self.fields["rate"].unit = currency
        for n in range(1, EXTRAS + 1):
            what = _now("Other line %(number)d") % {"number": n}
            price = _now("Its price, line %(number)d") % {"number": n}
            self.fields[f"extra_{n}"] = WordsField(label=what, max_length=160, required=False)
            self.fields[f"extra_{n}_amount"] = AmountField(
                label=price, high=MOST, unit=currency, required=False
            )

    @classmethod
    def initial_for(cls, row: Proposal) -> dict[str, Any]:
        """Return what stands as the values of the boxes."""
        held: dict[str, Any] = {
            "name": row.name, "words": row.words, "valid_until": row.valid_until, "rev": row.rev,
            "left_out": row.left_out, "margin": row.margin / SHARE, "hours": row.hours / HOURS,
            "rate": _decimal(row.rate), "tax": None if row.tax is None else row.tax / SHARE,
        }  # fmt: skip
        for n, extra in enumerate(row.extras, 1):
            held |= {f"extra_{n}": extra["text"], f"extra_{n}_amount": _decimal(extra["amount"])}
        return held | cls.initial_of(row.prices)

    def groups(self) -> list[tuple[Any, list[Any]]]:
        """Return the fields in groups with their headings."""
        prices = [self[name] for name in self.fields if name.startswith("price_")]
        extras = [
            (_("Other lines") if n == 1 else "", [self[f"extra_{n}"], self[f"extra_{n}_amount"]])
            for n in range(1, EXTRAS + 1)
        ]
        return [
            (_("The proposal"), [self[n] for n in ("name", "valid_until", "words")]),
            (_("Prices of parts and supplies"), [self["margin"], *prices]),
            (_("Work"), [self["hours"], self["rate"]]),
            *extras,
            (_("Terms"), [self["tax"], self["left_out"]]),
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse hours without a rate, and half a line."""
        data = super().clean() or {}
        if data.get("hours") and not data.get("rate") and "rate" not in self.errors:
            self.add_error("rate", _now("Hours need what one costs."))
        for n in range(1, EXTRAS + 1):
            name, amount = f"extra_{n}", f"extra_{n}_amount"
            if data.get(name) and data.get(amount) is None and amount not in self.errors:
                self.add_error(amount, _now("Say what this line costs, or take it away."))
            if data.get(amount) is not None and not data.get(name) and name not in self.errors:
                self.add_error(name, _now("Say what this amount is for, or take it away."))
        return data

    def zeros(self) -> list[str]:
        """Return what a valid form leaves at a typed 0, as questions: an emptied box is meant so."""
        return zeros({name: self.cleaned_data[name] for name in ZEROS})

    def changes(self) -> dict[str, Any]:
        """Return a proposal's fields."""
        data = self.cleaned_data
        return {
            "name": data["name"], "words": data["words"], "valid_until": data["valid_until"],
            "left_out": data["left_out"],
            "prices": {c: amount for c, amount in self.prices().items() if amount is not None},
            "margin": round((data["margin"] or 0) * SHARE),
            "hours": round((data["hours"] or 0) * HOURS),
            "rate": _ten_thousandths(data["rate"]) or 0,
            "tax": None if data["tax"] is None else round(data["tax"] * SHARE),
            "extras": [
                {"text": data[f"extra_{n}"], "amount": _ten_thousandths(data[f"extra_{n}_amount"])}
                for n in range(1, EXTRAS + 1)
                if data[f"extra_{n}"]
            ],
        }  # fmt: skip


def zeros(terms: Mapping[str, float | None]) -> list[str]:
    """Return what of a proposal's work, margin and tax stands at 0, as questions."""
    return [str(text) for name, text in ZEROS.items() if terms[name] == 0]


class ProposalLetterForm(forms.Form):
    """A few words of the office's in the letter with a proposal."""

    words = LongWordsField(
        label=_("A few words of ours"), max_length=1000, required=False,
        help_text=_("They stand in the letter as typed; the rest comes in each reader's language."),
    )  # fmt: skip


class AnswerForm(forms.Form):
    """What the client said, on which day, to which version."""

    answer = forms.ChoiceField(label=_("The client"), choices=[
        (Answer.ACCEPTED, _("accepts it")), (Answer.DECLINED, _("declines it")),
        (Answer.OPEN, _("has not answered: it is open")),
    ])  # fmt: skip
    version = forms.ChoiceField(label=_("Which version"), required=False)
    said_by = WordsField(
        label=_("Who said so"), max_length=160, required=False,
        help_text=_("Needed where it is accepted."),
    )  # fmt: skip
    on = DoneDayField(label=_("On"))
    words = LongWordsField(label=_("In their words"), max_length=1000, required=False)

    def __init__(self, *args: Any, versions: list[ProposalVersion], **more: Any) -> None:
        super().__init__(*args, **more)
        self.versions = {str(row.number): row for row in versions}
        choices = [
            (number, _now("version %(number)s") % {"number": number}) for number in self.versions
        ]
        self.fields["version"].choices = choices

    def clean(self) -> dict[str, Any]:
        """Refuse an acceptance of nothing."""
        data = super().clean() or {}
        missing = data.get("answer") == Answer.ACCEPTED and not data.get("version")
        if missing and "version" not in self.errors:
            self.add_error("version", _now("A client accepts a version: make its PDF first."))
        nameless = data.get("answer") == Answer.ACCEPTED and not data.get("said_by")
        if nameless and "said_by" not in self.errors:
            self.add_error("said_by", _now("Say who accepted it."))
        return data

    def chosen(self) -> ProposalVersion | None:
        """Return the version that was answered."""
        return self.versions.get(self.cleaned_data["version"])
