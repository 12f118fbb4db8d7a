"""What happened: the events that bend the water of single systems, in days before today."""

import itertools
from dataclasses import dataclass, field

Path = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Seen:
    """Something seen at the visit nearest to a day: a sign or words, with a picture."""

    ago: int
    text: str = ""
    sign: str = ""
    picture: str = ""
    caption: str = ""
    component: str = ""


@dataclass(frozen=True)
class Story:
    """One system's story.

    `paths` lead a quantity of the hidden truth through points (days ago, value); `extra` are
    visits out of turn; `skipped` are tasks left out since a day, with the reason; `wave_drop` is
    the oxygen in mg/L that a heat wave takes; `no_iron` the days since the last iron.
    """

    words: str
    loop: str = ""
    paths: dict[str, Path] = field(default_factory=dict)
    extra: tuple[int, ...] = ()
    seen: tuple[Seen, ...] = ()
    skipped: dict[str, tuple[int, str]] = field(default_factory=dict)
    wave_drop: float = 0.0
    no_iron: int = 0
    calls: tuple[tuple[int, str], ...] = ()


STORIES: dict[str, Story] = {
    "marsh": Story(
        "pH slides for two months because the weekly buffer is forgotten",
        paths={"alk": ((70, 78), (44, 61), (30, 46), (16, 31), (2, 16.6), (0, 16.4)),
               "tan": ((70, 0.2), (30, 0.3), (16, 0.38), (2, 0.42), (0, 0.42)),
               "no3": ((70, 33), (2, 39), (0, 39)),
               "co2": ((70, 17), (2, 27), (0, 27))},
        seen=(
            Seen(16, "The bag of buffer is still full; client was away and forgot the weekly dose."),
            Seen(2, "Fish eat well and look calm.", picture="tray", caption="Tilapia in the tray"),
        ),
        calls=((1, "Rang Ottoline Marsh about the buffer: first step given last night, "
                   "she will do the next tonight. Wants somebody to look again."),),
    ),
    "ruiz": Story(
        "nitrate climbs since the feed was doubled and a bed lies empty",
        paths={"no3": ((110, 48), (75, 70), (46, 104), (18, 138), (4, 162), (0, 164))},
        seen=(
            Seen(46, "Half of the raft is empty after the harvest; nothing sown since."),
            Seen(4, "Client feeds two scoops since spring; agreed on one.", picture="tank",
                 caption="The tank at Quarry Lane"),
        ),
    ),
    "clarke": Story("the client was away; one visit called off",
                    calls=((7, "Winifred Clarkson is away until the weekend; visit called off."),)),
    "moreau": Story(
        "nobody opened twice; the visit is late",
        calls=((10, "No answer at Odile Moreaux's; left a message."),
               (3, "Odile Moreaux asks for a day next week, mornings only.")),
    ),
    "bello": Story(
        "nitrite rises after forty young fish joined the old ones",
        paths={"no2": ((13, 0.06), (9, 0.38), (5, 0.62), (2, 0.68), (0, 0.64)),
               "tan": ((13, 0.2), (9, 0.62), (5, 0.4), (2, 0.3), (0, 0.28))},
        extra=(12, 9),
        seen=(
            Seen(12, "Forty young fish stocked after 40 minutes of getting used to the water."),
            Seen(2, "Young fish hide behind the standpipe, eat slowly."),
        ),
    ),
    "osei": Story(
        "iron runs out and new leaves turn pale",
        paths={"fe": ((62, 1.7), (34, 0.9), (19, 0.5), (5, 0.3), (0, 0.28))},
        no_iron=62,
        skipped={"iron_dose": (61, "part_missing")},
        seen=(
            Seen(19, "New leaves of the basil a little pale."),
            Seen(5, sign="new_leaves_yellow_between_veins", picture="leaf",
                 caption="Basil, youngest leaves", component="channels"),
        ),
    ),
    "varga": Story(
        "hard well water keeps the pH up",
        paths={"alk": ((400, 188), (0, 192)), "co2": ((400, 8.2), (0, 8.2))},
        seen=(Seen(6, "White crust on the heater guard and at the water line."),),
    ),
    "hollis": Story(
        "the monthly weighing was left out twice",
        skipped={"fish_sample_weigh": (62, "no_time"), "fish_health_look": (62, "no_time")},
        wave_drop=1.9,
        seen=(Seen(10, "Tomatoes carry well; two trusses tied up.", picture="fruit",
                   caption="Tomatoes on the channel"),),
    ),
    "brandt": Story(
        "an acid crash caught in time",
        paths={"alk": ((190, 72), (168, 44), (157, 9.0), (155, 14), (152, 24), (148, 38), (138, 66)),
               "tan": ((170, 0.2), (157, 1.1), (154, 0.8), (150, 0.4), (140, 0.15)),
               "co2": ((190, 17), (157, 20), (138, 17))},
        extra=(156, 154, 151),
        seen=(
            Seen(157, "Fish slow, feed left over; drops show the lowest colour."),
            Seen(154, "Fish eat again. Third small step of buffer given; pH climbs slowly."),
            Seen(151, "Client now doses each Sunday and writes it on the card."),
        ),
    ),
    "dunmore": Story(
        "a parasite bath on a vet's word; the fish must not be eaten yet",
        loop="fish",
        wave_drop=1.6,
        seen=(
            Seen(36, sign="fish_flashing"),
            Seen(22, "Vet looked at gill scrapings and wrote a bath for the fish loop; transfer "
                     "to the plants stopped."),
            Seen(8, "Fish calm again; transfer still stopped.", picture="tray",
                 caption="Silver perch after the bath"),
        ),
        calls=((20, "Dr Sabine Orrel (fish-health practice) confirms the bath and the waiting time "
                    "for the fish."),),
    ),
    "tennant": Story("the pH probe was spoilt", seen=(
        Seen(35, "pH meter fails in the third buffer; drops used instead. Probe to be changed."),
        Seen(21, "New probe fitted and calibrated.", picture="meter", caption="New probe in 7.00"),
    )),
    "murray": Story("a heat wave took the oxygen", wave_drop=2.9),
    "novak": Story("a heat wave took the oxygen", wave_drop=2.6),
    "gallo": Story("a heat wave took the oxygen", wave_drop=2.3),
    "kim": Story("the filter is being brought in, no fish yet", seen=(
        Seen(17, "First colour of nitrite in the test. Lid closed against light."),
        Seen(3, "Nitrite at its height, as expected. No fish yet.", picture="tank",
             caption="The tank waits for its fish"),
    )),
    "lindqvist": Story("all is well", seen=(
        Seen(1, "Lettuce ready to cut; roots white and firm.", picture="leaf_good",
             caption="Lettuce on the raft"),
    )),
    "costa": Story("all is well", seen=(
        Seen(1, "Rocket cut twice this month.", picture="tank", caption="The roof system"),
    )),
    "lopez": Story("all is well", seen=(
        Seen(2, "Jade perch came up at once.", picture="tray", caption="Jade perch, five looked at"),
    )),
    "quist": Story("all is well", seen=(
        Seen(3, "Goldfish busy; siphon breaks clean.", picture="sump", caption="Sump, strainer clean"),
    )),
    "school_tunnel": Story("a class counts the fish", seen=(
        Seen(9, "The fifth form counted with us and got 2 more than the book.", picture="sump",
             caption="The class at the sump"),
    )),
    "rao": Story("a reading typed in the wrong unit was put right"),
}  # fmt: skip
NOTHING = Story("")


def story_of(key: str) -> Story:
    """Return a system's story, an empty one where nothing happened."""
    return STORIES.get(key, NOTHING)


def on_path(path: Path, ago: float) -> float | None:
    """Return the value of a path on a day, None outside of it."""
    if not path or not path[-1][0] <= ago <= path[0][0]:
        return None
    for (early, before), (late, after) in itertools.pairwise(path):
        if late <= ago <= early:
            return before + (after - before) * (early - ago) / (early - late)
    return path[-1][1]
