/* Channels of the controller, told again from its documentation for an independent model checker.
 *
 * Written by hand from what the program promises (the docstrings of `controller/core`), sharing
 * nothing with it. A wait is a bit that says whether it runs; when time passes any set of running
 * waits may run out. Each event is one step. The judge below keeps its own account of every wait
 * and of whether the load stands still, and names the first property that a step breaks.
 *
 * Set from outside: N channels, all alike: TOP levels, DEAD and HOLD (has a dead time, a minimum off
 * time), TURN (waits for its turn after a power cut), KICKTOP (levels up to it are kicked),
 * RESTORE (0 off, 1 on, 2 as it was), ON_LEVEL; FAULT, a place where the model is broken on purpose:
 *   1 relays go straight from set to set   2 no dead time after opening   3 no minimum off time
 *   4 a load that was switched off is not known to stand still
 *   5 a channel that shall stay off after a power cut comes back as it was
 */

#define KICKLEVEL TOP
#define LOST 255        /* no snapshot */

mtype = { off, on, toggle, up, down, set };

typedef Channel {
    byte wanted; byte last; byte closed;        /* closed: the level whose relays are closed, 0 all open */
    bit rest; bit dead; bit hold; bit turn; bit kick;
    bit stands;                                 /* the judge's own: the load stands still */
};
Channel c[N];
byte i, was, wished, left; bit opens, closes, due_dead, due_hold, due_turn, due_kick, lit;    /* of one step; 0 between steps */

#define MUST(truth, id) if :: truth :: else -> printf(id); assert(false) fi
#define A c[i]

inline follow() {       /* the relays come as near to the wish as is allowed */
    if
    :: A.closed && A.closed != A.wanted && !(A.wanted && A.kick) ->
        A.closed = (FAULT == 1 -> A.wanted : 0); A.kick = 0;
        A.dead = (FAULT == 2 -> A.dead : DEAD); A.hold = (FAULT == 3 -> A.hold : HOLD)
    :: else
    fi;
    if
    :: !A.closed && !A.wanted -> A.rest = (FAULT == 4 -> A.rest : 1)
    :: !A.closed && A.wanted && !A.dead && !A.hold && !A.turn ->
        if
        :: A.rest && A.wanted <= KICKTOP -> A.closed = KICKLEVEL; A.kick = 1
        :: else -> A.closed = A.wanted
        fi;
        A.rest = 0
    :: else
    fi
}

inline note() {         /* before a step: what the judge must remember; the waits that should be left are told by the event */
    was = A.closed; wished = A.wanted; left = A.last;
    due_dead = A.dead; due_hold = A.hold; due_turn = A.turn; due_kick = A.kick
}

inline judge() {
    opens = was && !A.closed; closes = !was && A.closed;
    MUST(!(was && A.closed && was != A.closed), "FAILS sets-never-meet\n");
    MUST(A.dead == (opens -> DEAD : due_dead) && !(closes && A.dead), "FAILS dead-time\n");
    MUST(A.hold == (opens -> HOLD : due_hold) && !(closes && A.hold), "FAILS minimum-off\n");
    MUST(A.turn == due_turn && !(closes && A.turn), "FAILS turn\n");
    MUST(A.wanted || !A.closed, "FAILS off-at-once\n");
    if
    :: A.wanted ->
        MUST(!(opens && due_kick), "FAILS start-kick\n");
        MUST(!(opens && was == A.wanted), "FAILS wish-applied\n");
        if
        :: closes && A.stands && A.wanted <= KICKTOP -> MUST(A.closed == KICKLEVEL && A.kick, "FAILS start-kick\n")
        :: closes && !(A.stands && A.wanted <= KICKTOP) -> MUST(A.closed == A.wanted && !A.kick, "FAILS start-kick\n")
        :: else -> MUST(A.kick == (A.closed -> due_kick : 0), "FAILS start-kick\n")
        fi;
        MUST(A.closed == A.wanted || (A.closed && A.kick) || (!A.closed && (A.dead || A.hold || A.turn)), "FAILS wish-applied\n")
    :: else
    fi;
    A.stands = (A.closed -> 0 : (A.wanted -> A.stands : 1));
    printf("LEVEL %d %d\n", i, A.closed);
    was = 0; wished = 0; left = 0; opens = 0; closes = 0; due_dead = 0; due_hold = 0; due_turn = 0; due_kick = 0; lit = 0
}

inline begin(saved_wanted, saved_last) {        /* the mains comes back to one channel, with this in its snapshot */
    wished = saved_wanted; left = saved_last;
    printf("CUT %d %d %d\n", i, wished, left);
    A.last = (left >= 1 && left <= TOP -> left : ON_LEVEL);
    A.wanted = (RESTORE == 1 -> A.last : ((RESTORE == 2 || FAULT == 5) && wished <= TOP -> wished : 0));
    A.closed = 0; A.rest = 1; A.kick = 0; A.dead = DEAD; A.hold = HOLD; A.turn = TURN; A.stands = 1;
    /* by its policy, told once more */
    MUST(RESTORE != 0 || A.wanted == 0, "FAILS restore\n");
    MUST(RESTORE != 1 || A.wanted == ((left == 0 || left > TOP) -> ON_LEVEL : left), "FAILS restore\n");
    MUST(RESTORE != 2 || A.wanted == (wished > TOP -> 0 : wished), "FAILS restore\n");
    note(); follow(); judge()
}

inline pass(waits) {    /* time passes and these waits run out, those that run */
    note();
    printf("PASS %d %d\n", i, waits);
    if :: waits & 1 -> A.dead = 0; due_dead = 0 :: else fi;
    if :: waits & 2 -> A.hold = 0; due_hold = 0 :: else fi;
    if :: waits & 4 -> A.turn = 0; due_turn = 0 :: else fi;
    if :: waits & 8 -> A.kick = 0; due_kick = 0 :: else fi;
    follow(); judge()
}

inline ask(verb, level) {
    note();
    printf("ASK %d %e %d\n", i, verb, level);
    lit = A.wanted && !A.turn;
    if
    :: verb == off || (verb == toggle && lit) -> A.wanted = 0
    :: verb == set -> A.wanted = level
    :: verb == down -> A.wanted = (A.wanted > 1 -> A.wanted - 1 : A.wanted)
    :: verb == up && A.wanted -> A.wanted = (A.wanted < TOP -> A.wanted + 1 : TOP)
    :: else -> A.wanted = (A.wanted -> A.wanted : A.last)
    fi;
    A.last = (A.wanted -> A.wanted : A.last);
    A.turn = 0; due_turn = 0;
    /* what was asked, told once more */
    MUST(verb != off || !A.wanted, "FAILS network-acts\n");
    MUST(verb != on || A.wanted == (wished -> wished : left), "FAILS network-acts\n");
    MUST(verb != toggle || (lit && !A.wanted) || (!lit && A.wanted), "FAILS network-acts\n");
    MUST(verb != set || A.wanted == level, "FAILS network-acts\n");
    MUST(!A.wanted || A.last == A.wanted, "FAILS network-acts\n");
    follow(); judge()
}

/* What happens is chosen in one step and done in the next, so the shortest way in steps is the shortest story. */
byte chosen, saved_wanted, saved_last;
#define NOW 40          /* the power is cut right after a snapshot */

inline choose_ask() {
    if
    :: chosen = 0 :: chosen = 1 :: chosen = 2 :: chosen = 3 :: chosen = 4 :: chosen = 8 :: chosen = 9
#if TOP >= 2
    :: chosen = 10
#endif
#if TOP >= 3
    :: chosen = 11
#endif
#if TOP >= 4
    :: chosen = 12
#endif
    fi
}

inline choose_waits() {
    if
    :: chosen = 16 :: chosen = 17 :: chosen = 18 :: chosen = 19 :: chosen = 20 :: chosen = 21 :: chosen = 22 :: chosen = 23
    :: chosen = 24 :: chosen = 25 :: chosen = 26 :: chosen = 27 :: chosen = 28 :: chosen = 29 :: chosen = 30 :: chosen = 31
    fi
}

inline choose_saved() {
    if
    :: saved_wanted = 0 :: saved_wanted = 1 :: saved_wanted = 2 :: saved_wanted = 3 :: saved_wanted = TOP + 1 :: saved_wanted = LOST
    fi;
    if
    :: saved_last = 0 :: saved_last = 1 :: saved_last = 2 :: saved_last = TOP :: saved_last = TOP + 1
    fi
}

inline happen() {
    d_step {
        if
        :: chosen < 8 -> ask((chosen == 0 -> off : (chosen == 1 -> on : (chosen == 2 -> toggle : (chosen == 3 -> up : down)))), 0)
        :: chosen >= 8 && chosen < 16 -> ask(set, chosen - 8)
        :: chosen >= 16 && chosen < NOW -> pass((chosen - 16))
        :: chosen == NOW -> saved_wanted = A.wanted; saved_last = A.last; begin(saved_wanted, saved_last)
        fi;
        chosen = 0; saved_wanted = 0; saved_last = 0
    }
}

inline start() {
    choose_saved();
    d_step { begin(saved_wanted, saved_last); saved_wanted = 0; saved_last = 0 }
}

active proctype world() {
#if N == 1
    start();
    do
    :: if :: choose_ask() :: choose_waits() :: chosen = NOW fi; happen()
    od
#else
    /* The same with more channels: each starts as it may; then somebody asks one of them, or time
     * passes for all and whatever waits run out in each, or the power is cut for all. */
    atomic { i = 0; do :: i < N -> start(); i++ :: else -> break od; i = 0 }
    do
    :: atomic { i = 0; do :: i < N - 1 -> i++ :: break od; choose_ask(); happen(); i = 0 }
    :: atomic { i = 0; do :: i < N -> choose_waits(); happen(); i++ :: else -> break od; i = 0 }
    :: atomic { i = 0; do :: i < N -> chosen = NOW; happen(); i++ :: else -> break od; i = 0 }
    od
#endif
}
