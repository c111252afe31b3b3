"""The critical path against a published worked example, and hands-on and waiting time apart."""

from foamwright.assembly.records import Step
from foamwright.assembly.schedule import schedule

# F. S. Hillier and G. J. Lieberman, "Introduction to Operations Research", the Reliable Construction Co. project:
# activity, weeks, immediate predecessors. The published critical path is A B C E F J L N, 44 weeks. From memory.
RELIABLE = {
    "A": (2, ""), "B": (4, "A"), "C": (10, "B"), "D": (6, "C"), "E": (4, "C"), "F": (5, "E"), "G": (7, "D"),
    "H": (9, "EG"), "I": (7, "C"), "J": (8, "FI"), "K": (4, "J"), "L": (5, "J"), "M": (2, "H"), "N": (6, "KL"),
}  # fmt: skip


def step(number, minutes, before=(), wait=0.0):
    return Step(number, str(number), (), "", float(minutes), tuple(before), (), (), wait=wait)


def test_the_published_example_takes_44_weeks_along_its_published_path():
    number = {name: i for i, name in enumerate(RELIABLE, 1)}
    steps = [step(number[k], weeks, [number[p] for p in before]) for k, (weeks, before) in RELIABLE.items()]
    found = schedule(steps)
    assert found.shortest == 44.0
    assert "".join(name for name in RELIABLE if number[name] in found.critical) == "ABCEFJLN"
    assert found.hands_on == sum(weeks for weeks, _ in RELIABLE.values()) and found.waiting == 0.0


def test_waiting_counts_between_steps_but_not_as_work():
    found = schedule([step(1, 10, wait=15), step(2, 30), step(3, 5, (1, 2))])
    assert (found.hands_on, found.waiting, found.shortest, found.critical) == (45.0, 15.0, 35.0, (2, 3))


def test_no_steps_take_no_time():
    assert schedule([]).shortest == 0.0 and schedule([]).critical == ()
