"""The small door to the solver against the solver's public interface."""

import random

import pytest
from ortools.sat.python import cp_model

from pattress.pins.solver import Model


def instance(seed):
    """Return a random problem: bounds of variables, sums with bounds, cost."""
    chance = random.Random(seed)
    bounds = [(0, chance.choice([1, 1, 1, 4])) for _ in range(chance.randint(2, 9))]
    sums = []
    for _ in range(chance.randint(1, 8)):
        chosen = chance.sample(range(len(bounds)), chance.randint(1, len(bounds)))
        terms = [(chance.choice([-2, -1, 1, 1, 2, 3]), variable) for variable in chosen]
        least = chance.randint(-3, 4)
        sums.append((least, terms, least + chance.randint(0, 3)))
    return bounds, sums, [(chance.randint(-5, 9), variable) for variable in range(len(bounds))]


def through_the_public_interface(bounds, sums, cost):
    model = cp_model.CpModel()
    variables = [model.new_int_var(*pair, "") for pair in bounds]
    for least, terms, most in sums:
        total = sum(coefficient * variables[variable] for coefficient, variable in terms)
        model.add(total >= least)
        model.add(total <= most)
    model.minimize(sum(coefficient * variables[variable] for coefficient, variable in cost))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    return None if status == cp_model.INFEASIBLE else round(solver.objective_value)


def through_ours(bounds, sums, cost):
    model = Model()
    for pair in bounds:
        model.whole(*pair)
    for least, terms, most in sums:
        model.between(least, terms, most)
    model.minimise(cost)
    return model.solve()


SEEDS = range(60)


def test_the_optimum_is_that_of_the_public_interface():
    answers = []
    for seed in SEEDS:
        bounds, sums, cost = instance(seed)
        ours, theirs = through_ours(bounds, sums, cost), through_the_public_interface(bounds, sums, cost)
        assert (ours.cost if ours else None) == theirs, seed
        answers.append(theirs)
    assert 10 < answers.count(None) < 50          # both kinds occur


@pytest.mark.parametrize("seed", SEEDS)
def test_the_values_meet_the_sums_and_the_cost(seed):
    bounds, sums, cost = instance(seed)
    answer = through_ours(bounds, sums, cost)
    if answer is None:
        return
    assert all(least <= value <= most for value, (least, most) in zip(answer.values, bounds, strict=True))
    for least, terms, most in sums:
        assert least <= sum(coefficient * answer.values[variable] for coefficient, variable in terms) <= most
    assert answer.cost == sum(coefficient * answer.values[variable] for coefficient, variable in cost)


def test_the_same_problem_has_the_same_answer():
    assert through_ours(*instance(3)) == through_ours(*instance(3))


def test_at_most_at_least_and_exactly():
    model = Model()
    one, two = model.truth(), model.whole(0, 9)
    model.at_most([(1, two)], 7)
    model.at_least([(1, two)], 5)
    model.exactly([(1, one), (1, two)], 8)
    model.minimise([(1, two)])
    assert model.solve().values == (1, 7)
    model.at_most([(1, one)], 0)
    assert model.solve() is None
