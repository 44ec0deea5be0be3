"""The home around the board: when the loop notices what."""

from random import Random

from pattress.rehearsal.day import MINUTE, SECOND, Names
from pattress.rehearsal.stimuli import LATE_MS, Mishaps, Stimulus, What
from pattress.rehearsal.world import World


def test_the_loop_is_late_once_for_an_edge_and_once_for_the_end_of_its_wait_however_much_goes_on(plans):
    table = plans.sewing_room()
    world = World(table, Names.of(table), "busy", mishaps=Mishaps(0, 0), length=21 * MINUTE)
    rng, stimuli = Random(1), []
    for at in range(20 * SECOND, 20 * MINUTE, 2 * SECOND):
        stimuli.append(Stimulus(at, What.THROW, (plans.DOOR,)))
        stimuli += [Stimulus(at + rng.randrange(80), What.COMMAND, (-1, 0, 0)) for _ in range(60)]      # no such channel
    world.run(sorted(stimuli, key=lambda stimulus: stimulus.at))
    assert max(world.oracle.lates) == 2 * LATE_MS
    assert world.oracle.problems == []
    assert sum(user_action.what == "switch" for user_action in world.oracle.user_actions) == 590
