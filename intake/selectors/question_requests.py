"""The few questions that the desk has asked a rider for, and which of them are still open."""

from dataclasses import dataclass

from intake.models import QuestionRequest
from intake.selectors.previsit import CheckList, Step


@dataclass(frozen=True)
class AskedFor:
    """One request as it stands now: what has become unnecessary since is left out."""

    request: QuestionRequest
    steps: tuple[Step, ...]

    @property
    def done(self) -> int:
        """Return how many of its questions are answered."""
        return sum(step.done for step in self.steps)

    @property
    def total(self) -> int:
        """Return how many questions it still holds, answered or not."""
        return len(self.steps)

    @property
    def open_steps(self) -> tuple[Step, ...]:
        """Return what waits for an answer."""
        return tuple(step for step in self.steps if not step.done)


@dataclass(frozen=True)
class FewQuestions:
    """Everything the desk has asked one rider for, the newest request first."""

    requests: tuple[AskedFor, ...]

    @property
    def steps(self) -> tuple[Step, ...]:
        """Return each question once, in the order in which the desk named them."""
        return tuple({step.key: step for asked in self.requests for step in asked.steps}.values())

    @property
    def open_steps(self) -> tuple[Step, ...]:
        """Return what waits for an answer."""
        return tuple(step for step in self.steps if not step.done)

    @property
    def minutes_left(self) -> int:
        """Return about how many minutes the open questions take."""
        return round(sum(step.home_min for step in self.open_steps) + 0.5)

    @property
    def latest(self) -> AskedFor | None:
        """Return the newest request."""
        return next(iter(self.requests), None)

    def before(self, key: str) -> Step | None:
        """Return the question before this one."""
        keys = [step.key for step in self.steps]
        place = keys.index(key) if key in keys else 0
        return self.steps[place - 1] if place else None

    def after(self, key: str) -> Step | None:
        """Return the next open question after this one, or an open one before it; none where all are answered."""
        keys = [step.key for step in self.steps]
        place = keys.index(key) + 1 if key in keys else 0
        turned = (*self.steps[place:], *self.steps[:place])
        return next((step for step in turned if not step.done and step.key != key), None)


def few_questions(checks: CheckList) -> FewQuestions:
    """Return what the desk has asked the rider of a check for: one query."""
    rows = QuestionRequest.objects.filter(pre_visit=checks.pre_visit).select_related("asked_by").order_by("-pk")
    by_key = {step.key: step for step in checks.steps}
    return FewQuestions(tuple(AskedFor(row, tuple(by_key[key] for key in row.keys if key in by_key)) for row in rows))
