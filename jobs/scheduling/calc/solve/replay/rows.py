"""Names of the rows of the tables a replay works on; those of the shop stand in ``compiled.rows``."""

NONE = -1
FAR = 10**9

# Course.piece: one column a piece, in the order in which the plan begins them
(
    P_OP, P_WHO, P_ALSO, P_LENGTH, P_TURN, P_BEGUN, P_PREVIOUS, P_ALONE, P_OVER, P_ENTERS, P_LEAVES, P_FROM, P_TO,
    P_PLANNED,
) = range(14)  # fmt: skip
PIECE_ROWS = 14
# P_WHO, P_ALSO: technician of the plan, and another who may take it (NONE: nobody)
# P_LENGTH: slots that are not drawn; P_TURN: which of the drawn pieces of its operation (NONE: not drawn)
# P_BEGUN: where it began before now (NONE: not begun); P_PREVIOUS: the session before it (NONE: the first)
# P_ALONE: one of several sessions, within a day; P_OVER: pauses over a leave in the plan
# P_ENTERS, P_LEAVES: brings its job onto the floor; is the last of its job
# P_FROM, P_TO: where its prerequisites stand in Course.before; P_PLANNED: where the plan begins it

# Course.op
O_JOB, O_LEFT, O_PIECES, O_WAIT, O_EARLIEST, O_FIXED, O_PLACE, O_DELIVERY = range(8)
OP_ROWS = 8
# O_LEFT: slots still to be worked; O_PIECES: pieces over which they are spread

# Room.piece: what became of each piece in one future
START, END, READY, FREE, MEETS, INSIDE, MANNED, VIA = range(8)
ROOM_ROWS = 8
# READY: prerequisites and their waits over; FREE: parts there, too; MEETS: an appointment come, too;
# INSIDE: a floor place free, too; MANNED: the technician free, too; START: bench or spray free, too
# VIA: the prerequisite that was last

# Tally.held: slots an operation spent on the way of its job, over all futures
H_WORK, H_WAIT, H_PART, H_DAY, H_PERSON, H_PLACE, H_FLOOR = range(7)
HELD_ROWS = 7

# Tally.decided: columns; the technicians follow
T_WORK, T_WAIT, T_PART, T_DAY, T_BENCH, T_SPRAY, T_FLOOR, T_PERSON = range(8)
