"""Names of the rows of the tables the compiled scheduler works on. All tables are 64-bit whole numbers.

Positions count the shop's working slots (see ``timeline``). ``NONE`` stands for "no such thing", ``FAR`` for "never".
"""

NONE = -1
FAR = 10**9

# Shop.op: one column an operation
OP_JOB, OP_FIRST, OP_SESSIONS, OP_PLACE, OP_WAIT, OP_EARLIEST, OP_BEFORE, OP_SKILL = range(8)
OP_FORCED, OP_BEGUN, OP_LATER_FROM, OP_LATER_TO, OP_PIN, OP_LENGTH, OP_TAIL = range(8, 15)
# OP_LENGTH: clock minutes from start to end at the least; OP_TAIL: from there to the end of the job

# Shop.piece: one column a piece, that is a session of an operation
PIECE_SLOTS, PIECE_OP, PIECE_LATER = range(3)

# Shop.job
JOB_IN_HOUSE, JOB_WORK, JOB_DUE_DAY, JOB_LOOK_AHEAD = range(4)

# Shop.people: [row, technician, shop day]
PERSON_WORKS, PERSON_BEFORE, PERSON_DAY, PERSON_LEAVE, PERSON_RUN = range(5)
PERSON_ROWS = 5

# Shop.calendar: first shop day on or after a calendar day; calendar day of a shop day
SHOP_DAY, NUMBER = range(2)

# Shop.preset and Shop.pin: one row each, these columns
GIVEN_PIECE, GIVEN_WHO, GIVEN_START, GIVEN_END, GIVEN_BEGUN = range(5)
GIVEN_COLUMNS = 5

# Shop.fact
FACT_DAY, FACT_SLOT, FACT_OPENS, FACT_NOW, FACT_END, FACT_FLOOR, FACT_PLACE = range(7)
# FACT_PLACE and the one after it: benches, spray rooms

# State.op, State.piece, State.job
READY, MISSING, RELEASED_AT, QUEUED_AT = range(4)
START, WHO, END, DECIDED = range(4)
HERE, LEFT, EXPECTED, PINS, LEAST_DAY = range(5)
# RELEASED_AT, QUEUED_AT: moments before which its lead, and its priority, made no difference to the schedule
# DECIDED: the moment at which the start was settled; LEAST_DAY: calendar day before which the job cannot end any more

# State.skill: technicians free who have it, pieces of its queue tried at this moment
FREE, TRIED = range(2)

# State.booked and State.held: row 0 holds how many follow; in each row start, end, piece. State.queue: its column 0
FROM, TO, BY = range(3)

# State.tally
EVENTS, UNFINISHED, ON_FLOOR, BROKEN, FLOOR_CHANGED, NEAR_MOVED, KEPT = range(7)
COUNTS = 7
# KEPT: how many moments to keep have passed

# what a choice says of an operation: slots it may book ahead, and the one technician it waits for (NONE: any)
WISH_AHEAD, WISH_WHO = range(2)

# kinds of events, in the order they count at one moment
ENDS, ARRIVES, RELEASED = range(3)
KINDS = 3

# what became of a piece that was tried
STARTED, WAITS, NEEDS_FLOOR = range(3)

# what decode answers
COMPLETE, STUCK, HOPELESS, JOINED = range(4)
# JOINED: from a kept moment on it is the present schedule

# State.result
LATE_DAYS, SOFT, LAST_END, LEAST_LATE, LEAST_COST = range(5)
RESULTS = 5
# LEAST_LATE, LEAST_COST: what weighted days late, and these with the soft cost, come to at the least
