"""Care tasks: their rules, what was done, what counters show, and what the due list keeps."""

from apps.care.services.appointments import standing_add, standing_remove
from apps.care.services.asking import visit_days_ask, visit_days_ask_for
from apps.care.services.beginning import care_begin, care_follow
from apps.care.services.feed_counts import feed_count_add
from apps.care.services.first_weeks import first_weeks_make, ready_on
from apps.care.services.meters import meter_add, meter_withdraw
from apps.care.services.noting import done_note, noted_done
from apps.care.services.proposing import FixedDay
from apps.care.services.rules import dates_ahead, dates_set, rhythm_of, rule_check
from apps.care.services.standing import (
    STANDING_DATES,
    FeedSaid,
    standing_ahead_set,
    standing_class,
    standing_dates_set,
    standing_feed_set,
    standing_refresh_dates,
)
from apps.care.services.tasks import (
    agreed_set,
    completions_set,
    condition_set,
    conditions_raise,
    forecasts_set,
    plan_make,
    task_save,
    tasks_from_catalogue,
    tasks_locked,
    tasks_recompute,
)
from apps.care.services.visit_days import visit_days_begin, visit_days_plan

__all__ = [
    "STANDING_DATES",
    "FeedSaid",
    "FixedDay",
    "agreed_set",
    "care_begin",
    "care_follow",
    "completions_set",
    "condition_set",
    "conditions_raise",
    "dates_ahead",
    "dates_set",
    "done_note",
    "feed_count_add",
    "first_weeks_make",
    "forecasts_set",
    "meter_add",
    "meter_withdraw",
    "noted_done",
    "plan_make",
    "ready_on",
    "rhythm_of",
    "rule_check",
    "standing_add",
    "standing_ahead_set",
    "standing_class",
    "standing_dates_set",
    "standing_feed_set",
    "standing_refresh_dates",
    "standing_remove",
    "task_save",
    "tasks_from_catalogue",
    "tasks_locked",
    "tasks_recompute",
    "visit_days_ask",
    "visit_days_ask_for",
    "visit_days_begin",
    "visit_days_plan",
]
