"""What an event performs, as tests ask for it."""

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from calculations.tasks.performed import Verdicts
from calculations.tasks.performing import performed
from tests.calculations.building import booster, changed, without

KIND = "/event/kind"
AGAIN = {KIND: "re_verification"}


def done(changes=None, *left_out, earlier=None):
    """What an event performed, by task and tag, with what the rules said of it."""
    subject = read(Subject, without(changed(booster(), changes or {}), *left_out))
    judged = judge(subject, earlier=read(Subject, earlier) if earlier else None)
    return {(each.task, each.thing.tag): each for each in performed(subject, verdicts(judged))}


def verdicts(judged):
    """What the rules said, as tasks ask for it."""
    return Verdicts.of(
        ((each.rule, each.severity, each.subject) for each in judged.findings),
        ((each.rule, each.subject) for each in judged.not_evaluated),
    )


def results(changes=None, *left_out):
    return {name: each.result for name, each in done(changes, *left_out).items()}
