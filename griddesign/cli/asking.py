"""The questions of ``griddesign new FILE --ask``, one after another on the terminal."""

import click

from griddesign.cli.saying import say
from griddesign.errors import GriddesignError, JobError
from griddesign.job.answers import QUESTIONS, Question, answer_of, asked_again, job_text

MOST_ROUNDS = 3
_INTRO = (
    "{count} questions. Write quantities with their unit, as your rule shows it; about 8 mm, or 7 mm to 9 mm, do.",
    "Enter alone, or ?: don't know. The letters are those of the measuring sheet.",
)


def asked_text(purpose: str) -> str:
    """The job file that the answers make. Raises JobError where they do not go together after all."""
    questions = QUESTIONS[purpose]
    say([line.format(count=len(questions)) for line in _INTRO], to_stderr=True)
    answers: dict[str, str | None] = {}
    for _ in range(MOST_ROUNDS - 1):
        answers.update((question.key, _ask(question, answers.get(question.key))) for question in questions)
        try:
            return job_text(purpose, answers)
        except JobError as error:
            complaints = error.complaints()
            say(["These answers do not go together:", *(complaint.message for complaint in complaints)], to_stderr=True)
            questions = asked_again(purpose, (complaint.key for complaint in complaints))
    answers.update((question.key, _ask(question, answers.get(question.key))) for question in questions)
    return job_text(purpose, answers)


def _ask(question: Question, before: str | None) -> str | None:
    """Ask until it is an answer; one given before stands if nothing new is written."""
    letter = f" ({question.letter})" if question.letter else ""
    words = f"{question.words}{letter} e.g. {question.example}"
    while True:
        said = click.prompt(words, default=before or "", show_default=before is not None, err=True)
        try:
            return answer_of(question, said)
        except GriddesignError as error:
            say([f"  {complaint.text()}" for complaint in error.complaints()], to_stderr=True)
