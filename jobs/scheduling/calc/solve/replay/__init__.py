"""A plan replayed over many futures: its order is kept, its hours and the arrival of its parts are drawn.

``tables`` turns a problem and its plan into arrays (``Course``): the pieces of work in the order in which the plan
begins them. ``kernels`` replays that order one future after the other, compiled; ``plain`` is the same in plain
Python, for a page that must answer before the compiled code is there, and what the tests hold it against.

The policy: pieces are placed in the order in which the plan begins them, each with the plan's technician, as soon as
what it waits for is over. Nothing delays what comes before it in the plan; but who would stand idle takes the next
thing that can be done, if it fits before what is already placed; and work that would begin a day or more after its time
in the plan goes to whoever can do it and is done first. (Kept to the letter, the order makes everybody wait for one
late part or one leave: a shop of 25 instruments then ended three months late.) Instruments come onto the
floor in the order of their arrival in the plan. Work is begun before a leave only where the plan does so, or where no
stretch between two leaves is long enough for it. A session that has grown longer than a day begins in the morning and
goes on the day after.
"""
