"""Runs the benchmarks: python -m benchmarks [NAME ...]."""

import os
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "backyard.settings.test")


def main() -> int:
    """Run those named, or all, on a fresh test database; return 1 where a limit is passed by far."""
    import django

    django.setup()
    from django.db import connection, transaction
    from django.test.utils import setup_test_environment

    from apps.catalogue.services import catalogue_load
    from benchmarks import (
        ahead,
        assessment,
        client_page,
        due_list,
        phone,
        report,
        report_many,
        rounds,
        rounds_month,
        submitting,
        visit_days,
        visit_days_demo,
    )
    from benchmarks.measure import machine

    setup_test_environment()
    connection.creation.create_test_db(verbosity=0)
    catalogue_load()
    short = {
        "due": due_list.run, "assessment": assessment.run, "report": report.run,
        "client_page": client_page.run,
        "submission": submitting.run, "phone": phone.run, "rounds": rounds.run,
        "visit_days": visit_days.run,
    }  # fmt: skip
    by_name_alone = {
        "rounds_search": rounds.search, "rounds_instances": rounds.instances,
        "rounds_firms": rounds.firms, "rounds_month": rounds_month.run,
        "ahead": ahead.run, "report_many": report_many.run, "visit_days_demo": visit_days_demo.run,
    }  # fmt: skip
    known = short | by_name_alone
    wanted = sys.argv[1:] or list(short)
    print(f"{machine()}, {connection.vendor}")
    held = True
    for name in wanted:
        with transaction.atomic():
            for claim in known[name]():
                print(claim.line(), flush=True)
                held &= not claim.far_over
            transaction.set_rollback(True)
    connection.creation.destroy_test_db("unused", verbosity=0)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
