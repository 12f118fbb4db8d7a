"""What a household does at once, whatever it is, until somebody of ours is on the telephone."""

_ = str

AIR = (
    _("Start backup or battery air, into the tank with the fish."),
    _("Lift the return hose so that the water falls and splashes."),
)  # fmt: skip
NOT_FEED = _("Give no feed.")
NO_CHEMICALS = _("Put nothing into the water.")

FIRST_AID: tuple[str, ...] = (
    _("Is somebody hurt, are plugs or cables wet, does anything tingle? Touch nothing wet. Power off at the board, then call the emergency services."),
    *AIR, NOT_FEED, NO_CHEMICALS,
    _("No air at all? Dip a clean bucket into the tank and pour it back from above: five minutes in every ten, until air runs."),
    _("Hands stay out of the water while anything in it has mains power."),
)  # fmt: skip
