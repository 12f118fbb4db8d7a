"""The questions of an emergency call, in their order, and what is said after each answer.

People come before fish: nothing else is asked until nobody is in danger, and a branch with water
on electrics ends with those who are licensed. No dose is given by telephone: of chemicals only
what a packet's own label says is named. ``_`` only marks a sentence for the translators.
"""

from apps.calc.advice.results import NOW, SOON, TODAY
from apps.calc.callscript.first_aid import AIR, NO_CHEMICALS, NOT_FEED
from apps.calc.callscript.model import END, Answer, Step

_ = str

START = "people"

WHO_WORDS: dict[str, str] = {
    "emergency_services": _("the emergency services, before all else"),
    "electrician": _("a licensed electrician"),
    "technician": _("a technician of ours"),
    "fish_health": _("a fish-health professional"),
    "office": _("we in the office"),
}

SKILL_WORDS: dict[str, str] = {
    "electric": _("electrics"),
    "pumps": _("pumps and air"),
    "fish": _("fish and disease"),
}
"""What a technician who goes may have to be at home in; a licence is another matter."""

FIRST_WORDS: tuple[str, ...] = (
    _("Is anyone hurt? Then the emergency services come first: hang up, call them, call us after."),
    _("Has water reached sockets, plugs or cables, or does anything tingle? Then nobody touches water, tank or frame; the power goes off at the board, and everybody stays away."),
    _("Nobody reaches into water while a pump, heater or lamp in it has mains power."),
)  # fmt: skip
"""Said before anything else is asked, whatever the call is about."""

CAUTIONS: dict[str, str] = {
    "mains": _("Mains power and water: off at the board, dry hands, dry ground. Whoever cannot get there dry stays away. Repairs are for licensed people."),
    "gear_off": _("Before a hand goes into the water: the gear in it off at the board or unplugged. A switch on the gear is not enough."),
    "no_chemicals": _("No chemicals, salt or medicine on a guess: they change the water at the worst time."),
    "label": _("Chemicals only as their own label says, with gloves and eyes covered, never mixed, away from children."),
    "same_water": _("Water only if it is free of chlorine and within two degrees of the tank's; else none at all."),
    "not_alone": _("Nobody goes out alone, at night or in a storm, and nobody drives in a hurry for fish."),
    "no_medicine": _("No medicine or bath without the word of a fish-health professional; fish that were treated are not eaten."),
    "gloves": _("Gloves for dead fish, hands washed after; none of them is eaten or given to animals."),
}  # fmt: skip

CLOSING: tuple[str, ...] = (
    _("Keep the telephone with you, and call at once if anything changes."),
    _("Nobody goes to the tank alone in the dark, in a storm or where it is wet; nobody drives in a hurry."),
    _("What local rules and licensed people say goes before what we say here."),
)  # fmt: skip
"""Said before the call ends, whatever it was about."""

_STAY_AWAY = (
    _("Touch neither the water nor the tank nor its frame, and do not pull plugs that are wet."),
    _("Switch the power off at the board, with dry hands on dry ground. If you cannot get there dry, leave it and call the emergency services."),
    _("Keep everybody away, animals too."),
)  # fmt: skip
_ELECTRIC = ("electrician", "technician")
_CHANGE = _("With treated water of the same temperature at hand, change a quarter; without it, change none.")  # fmt: skip

_STEPS = (
    Step(
        "people", _("Is anyone hurt, or has water reached sockets, plugs or cables?"), card="people",
        sources=("fao589", "practice"), figures=("address",),
        answers=(
            Answer("no", _("No, everybody is safe"), "gasping",
                   (_("Keep hands out of the water while anything in it has mains power."),),
                   cautions=("gear_off",)),
            Answer("hurt", _("Somebody is hurt"), "called",
                   (_("Hang up and call the emergency services now; this is the address. Call us back after that."),
                    _("Do not touch somebody who may still be in touch with mains power: off at the board first."),
                    *_STAY_AWAY[2:]),
                   NOW, ("emergency_services", "electrician"), ("mains",),
                   skill="electric"),
            Answer("wet", _("Water on electrics, or it tingles"), "off", _STAY_AWAY, NOW,
                   _ELECTRIC, ("mains",),
                   skill="electric"),
            Answer("unsure", _("Not sure"), "off", _STAY_AWAY, NOW, _ELECTRIC, ("mains",),
                   skill="electric"),
        ),
    ),
    Step(
        "called", _("Are the emergency services called?"), sources=("practice",),
        figures=("address",),
        answers=(
            Answer("yes", _("Yes"), "off", _STAY_AWAY, NOW, ("emergency_services",), ("mains",)),
            Answer("no", _("Not yet"), "off",
                   (_("Then do that now, before anything else; we call you back in five minutes."),),
                   NOW, ("emergency_services",), ("mains",)),
        ),
    ),
    Step(
        "off", _("Is the power off at the board, and is everybody away from the water?"),
        sources=("fao589", "practice"),
        answers=(
            Answer("yes", _("Yes, both"), "battery",
                   (_("Leave it off until a licensed electrician has looked."),), NOW, _ELECTRIC,
                   ("mains",)),
            Answer("no", _("No"), END,
                   (_("Stay away from it. No fish is worth going near; we send help."),
                    _("If anybody is in danger, call the emergency services.")),
                   NOW, ("electrician", "technician"), ("mains", "not_alone")),
        ),
    ),
    Step(
        "battery", _("Is there battery air that stands dry, and can the tank be reached dry?"),
        sources=("practice",), figures=("minutes",),
        answers=(
            Answer("yes", _("Yes"), END,
                   (_("Start the battery air and touch nothing else. The board stays off."), NOT_FEED),
                   NOW, _ELECTRIC, ("mains",)),
            Answer("no", _("No"), END,
                   (_("Then nobody goes near. We come with battery air."),), NOW, _ELECTRIC,
                   ("mains", "not_alone")),
        ),
    ),
    Step(
        "gasping", _("Are fish at the surface, gasping or dying?"), card="gasping",
        sources=("fao589",), figures=("minutes", "biomass", "do", "temp"),
        answers=(
            Answer("no", _("No"), "power"),
            Answer("yes", _("Yes"), "air", (*AIR, NOT_FEED, NO_CHEMICALS), NOW, ("technician",),
                   ("gear_off", "no_chemicals")),
            Answer("unsure", _("Cannot see"), "power",
                   (_("Look from the side with a torch, hands out of the water; tell me while we go on."),)),
        ),
    ),
    Step(
        "air", _("Does air reach the fish now: do you see bubbles or splashing?"),
        sources=("practice",), figures=("minutes", "air_parts"),
        answers=(
            Answer("yes", _("Yes"), "power"),
            Answer("no", _("No, none at all"), "power",
                   (_("Dip a clean bucket into the tank and pour it back from above: five minutes in every ten, until air runs. Take turns."),
                    _("Open the lid.")),
                   NOW, ("technician",), ("gear_off",)),
        ),
    ),
    Step(
        "power", _("Is the power on, and do the pump and the air run?"), card="power",
        figures=("minutes", "pump_parts", "air_parts"),
        answers=(
            Answer("running", _("Yes, all run"), "level"),
            Answer("out", _("The power is out"), "outage",
                   (AIR[0], _("Note the time at which it went."), NOT_FEED, _("Open the lid.")),
                   NOW, ("technician",)),
            Answer("stopped", _("Power is on, but pump or air stands still"), "stopped", AIR[:1],
                   NOW, ("technician",), ("gear_off",),
                   skill="pumps"),
            Answer("unsure", _("Not sure"), "level", AIR[:1], TODAY, ("technician",)),
        ),
    ),
    Step(
        "outage", _("Is it dark in the street too, or did a switch at your board trip?"),
        figures=("minutes",),
        answers=(
            Answer("street", _("The street too"), "level",
                   (_("Beyond the minutes shown here without any air, splash with a bucket: five minutes in every ten."),
                    _("When the power comes back: air first, then the pump, slowly, watching the level."),
                    _("Test ammonia and nitrite on the next three days.")), NOW, ("technician",)),
            Answer("tripped", _("A switch tripped"), "level",
                   (_("Leave it off. With dry hands on dry ground, unplug what stands in or near the water."),
                    _("Try it once, with all of that unplugged. If it trips again, leave it off: that is for an electrician.")),
                   NOW, ("technician", "electrician"), ("mains",),
                   skill="electric"),
            Answer("unsure", _("Not sure"), "level",
                   (_("Do not try any switch while something near it is wet."),), NOW,
                   ("technician",), ("mains",)),
        ),
    ),
    Step(
        "stopped", _("Which one stands still?"), figures=("minutes", "pump_parts", "air_parts"),
        answers=(
            Answer("pump", _("The water pump"), "level",
                   (_("Leave the air on: fish need it more than flow."),
                    _("Switch the pump off at the board or unplug it with dry hands; only then look whether its intake is blocked, and clear it."),
                    _("If it does not start again at once, leave it unplugged.")),
                   NOW, ("technician",), ("gear_off", "mains"),
                   skill="pumps"),
            Answer("air", _("The air pump"), "level",
                   (*AIR, _("Look whether its hose has come off or is kinked, without reaching into the water.")),
                   NOW, ("technician",), ("gear_off",),
                   skill="pumps"),
            Answer("both", _("Both"), "level",
                   (*AIR, _("Leave both unplugged until somebody has looked.")), NOW,
                   ("technician",), ("mains",),
                   skill="pumps"),
        ),
    ),
    Step(
        "level", _("Is the water as high as usual?"), card="level", figures=("litres",),
        answers=(
            Answer("normal", _("Yes"), "added"),
            Answer("low", _("Lower, or falling"), "leak",
                   (_("If the sump is dry, stop the pump; leave the air on."),
                    _("Close the valves of the beds."),
                    _("Top up only with water that is free of chlorine, and stay with the hose.")),
                   TODAY, ("technician",), ("gear_off", "same_water"),
                   skill="pumps"),
            Answer("high", _("It runs over"), "added",
                   (_("Keep clear of wet plugs and cables: off at the board with dry hands."),
                    _("Stop what fills it; leave the air on if it stands dry.")),
                   TODAY, ("technician",), ("mains",),
                   skill="pumps"),
        ),
    ),
    Step(
        "leak", _("Does water still cover the backs of the fish?"), figures=("litres",),
        answers=(
            Answer("yes", _("Yes"), "added"),
            Answer("no", _("No"), "added", (_("Keep the fish wet and in air; top up now, slowly."),),
                   NOW, ("technician",), ("same_water",)),
        ),
    ),
    Step(
        "added", _("In the last two days: was water topped up, anything sprayed, painted or poured, or did heavy rain run in?"),
        card="added", figures=("litres", "quarter", "temp"),
        answers=(
            Answer("no", _("None of it"), "readings"),
            Answer("tap", _("Tap water"), "readings",
                   (_("Close the tap."),
                    _("Dechlorinator for all the water of the loop, now, as its label says; all air on.")),
                   NOW, ("technician",), ("label",)),
            Answer("chemical", _("Spray, paint or a chemical"), "readings",
                   (_("Stop it and read me the name on the packet; keep the packet."), _CHANGE),
                   TODAY, ("technician",), ("no_chemicals", "same_water")),
            Answer("rain", _("Rain ran in"), "readings",
                   (_("Keep more from running in."), _CHANGE), TODAY, ("technician",),
                   ("same_water", "not_alone")),
        ),
    ),
    Step(
        "readings", _("What do the last tests say: ammonia, nitrite, pH, temperature? When were the fish fed?"),
        card="readings", figures=("tan", "no2", "ph", "temp"),
        answers=(
            Answer("good", _("As usual"), "deaths"),
            Answer("high", _("Ammonia or nitrite is high"), "deaths",
                   (_("No feed for 24 to 48 hours."),), TODAY, ("technician",), ("no_chemicals",)),
            Answer("none", _("Nothing was tested"), "deaths",
                   (_("Test now, in daylight, before feeding, and tell us; until then no feed."),)),
        ),
    ),
    Step(
        "deaths", _("How many fish are dead, since when, and do they carry marks?"), card="deaths",
        figures=("fish_count", "two_percent"), sources=("practice",),
        answers=(
            Answer("none", _("None"), "weather"),
            Answer("few", _("A few, without marks"), "weather",
                   (_("Take them out and count them."),), cautions=("gloves",)),
            Answer("many", _("More than two in a hundred within a day, or marks"), "weather",
                   (_("Take them out; two go into a bag and are kept cold, not frozen."),
                    _("Photograph the gills and the marks in daylight.")),
                   TODAY, ("technician", "fish_health"), ("gloves", "no_medicine"),
                   skill="fish"),
        ),
    ),
    Step(
        "weather", _("What weather is coming?"), card="weather",
        answers=(
            Answer("calm", _("Nothing out of the way"), END),
            Answer("heat", _("Heat"), END,
                   (_("Shade over tank and beds, a second air line, at night too; feed at dawn, half of it, and nothing above the highest temperature of your fish. We send you the list."),),
                   SOON, ("office",)),
            Answer("frost", _("Frost"), END,
                   (_("Cover the tank, keep the water moving, do not handle the fish. We send you the list."),),
                   SOON, ("office",), ("mains",)),
            Answer("storm", _("Storm"), END,
                   (_("Charge and try the backup air, tie lids and nets down, give no feed on the day before. We send you the list."),),
                   SOON, ("office",), ("not_alone",)),
        ),
    ),
)  # fmt: skip
STEPS: dict[str, Step] = {step.code: step for step in _STEPS}
