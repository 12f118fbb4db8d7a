"""The way in: which maker is used, that the judge is asked, and what is loaded for it."""

import subprocess
import sys
from pathlib import Path

import pytest

from apps.rounds.planning import planner
from apps.rounds.planning.checker import Violation
from apps.rounds.planning.effort import Effort, Seldom
from tests.rounds.planning.firms import HOUR, firm
from tests.rounds.planning.lines import line, shift_of, stop_at

ROOT = Path(__file__).resolve().parents[3]


def test_the_solver_where_it_is_and_insertion_where_not(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = firm(1)
    assert planner.plan_rounds(problem, Effort(iterations=10)).method == "search"
    monkeypatch.setattr(planner, "find_spec", lambda name: None)
    assert not planner.solver_present()
    assert planner.plan_rounds(problem, Effort(iterations=10)).method == "insertion"


def test_no_plan_is_given_out_that_the_judge_refuses(monkeypatch: pytest.MonkeyPatch) -> None:
    found = [Violation("lunch_missing")]
    monkeypatch.setattr(planner, "violations", lambda *_: found)
    with pytest.raises(planner.PlanRefused, match="lunch_missing") as caught:
        planner.plan_rounds(line([stop_at("a", 1, HOUR)], [shift_of()]), Effort(iterations=10))
    assert caught.value.violations == found


def loaded(code: str) -> set[str]:
    """Return which of the heavy or framework packages a fresh process loads for `code`."""
    names = ("django", "numpy", "pyvrp", "matplotlib", "rest_framework")
    script = f"import sys; {code}; print(*[n for n in {names} if n in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(done.stdout.split())


def test_all_but_the_solver_is_plain_python() -> None:
    folder = ROOT / "apps" / "rounds" / "planning"
    modules = [path.stem for path in folder.glob("*.py") if path.stem not in ("model", "solver")]
    assert len(modules) > 20
    imports = "; ".join(f"import apps.rounds.planning.{m}" for m in modules if m != "__init__")
    assert loaded(imports) == set()
    assert "django" not in loaded("import apps.rounds.planning.solver")


def test_whether_to_stop_is_asked_seldom() -> None:
    """The question may go to a database: not a thousand times a second."""
    asked = []
    seldom = Seldom(lambda: bool(asked.append(1)))
    assert not any(seldom() for _ in range(1000))
    assert len(asked) < 5
    sure = Seldom(lambda: bool(asked.append(1)) or True)
    assert all(sure() for _ in range(1000))
