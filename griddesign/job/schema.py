"""The number of the form a file is written in: a file of another form is refused, with the change to make."""

from griddesign.job.part import Part

SCHEMA = 1


def check_schema(whole: Part) -> None:
    """Complain where ``schema`` is another number than ours; a file without one is read as ours.

    There was no form before 1, so a lower number is a slip. A higher one comes from a newer griddesign, in which a key
    may mean something else: never advised to be changed alone.
    """
    found = whole.whole_number("schema", SCHEMA, least=-(10**6), most=10**6)
    if found is None or found == SCHEMA:
        return
    message = f"schema {found} is not read by this version, which reads {SCHEMA}"
    if found < SCHEMA:
        whole.complain("schema", message, f"There was none before {SCHEMA}: write schema = {SCHEMA}.")
    else:
        whole.complain(
            "schema",
            f"{message}; the file was written for a newer griddesign",
            f"Install that one, or carry the figures over into a starter of this one (griddesign new FILE), which has "
            f"schema = {SCHEMA}.",
        )
