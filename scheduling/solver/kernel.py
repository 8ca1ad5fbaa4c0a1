"""The inner loop of the search, in plain whole numbers: take some jobs out, put them back where they fit best.

Long because what is compiled together stands together: the cache of the compiled code notices a change of this file
and of no other. Every function works on flat lists of integers laid out by `flat`, indexed one by one, so that the same
text runs as plain Python on lists and compiled on arrays, and gives the same plan. A function takes only the
lists that it reads: N numbers, J jobs, P where each job stands, W ways, V the resources of ways, E starts, U their units, A what
waits for what, R resources, D road tables, C clocks, S rows, G gaps found, X lists of jobs at work, B the best and
what to move to.
"""

# N: numbers of the run.
(
    N_JOBS, N_HORIZON, N_RNG, N_UNITS, N_BEST, N_BEST_MUST, N_SCALE, N_MUST, N_PULL, N_WAY, N_AT, N_CEILING, N_STAMP,
    N_LOGGED, N_WARMTH, N_FREED, N_ORDER, N_RESOURCES, N_MUST_LEFT, N_MOST_FREED, N_MOST_LEFT, N_BLINK, N_PLACES,
    N_BREAKS, N_HOLDS, N_BUMP, N_ROUNDS, N_KEPT, N_LEFT, N_SHIFT, N_FLOOR, N_CLOSE, N_NEXT_BLINK,
    N_FROM, N_TO, N_MOVED, N_PRICED, N_PRICES, N_BY_PRICES, N_SIZE,
) = range(40)  # fmt: skip

# J: one job each; offsets into W, A and the lists of chains and neighbors.
(
    J_PLACE, J_WAYS, J_WAYS_END, J_BEFORE, J_BEFORE_END, J_BEHIND, J_BEHIND_END, J_CHAIN, J_CHAIN_END, J_NEAR,
    J_NEAR_END, J_LEFT, J_MUST, J_HOLDS, J_PINNED, J_DUE, J_PRICE, J_LEAST, J_KEYS, J_PAIRS, J_FITS,
    J_SHORT, J_SOONEST, J_LATEST, J_SIZE,
) = range(25)  # fmt: skip

# P: where a job stands.
P_WAY, P_AT, P_START, P_END, P_SIZE = range(5)

# W: one way each; W_BY_START and W_BY_END are where its tables of first starts by time begin in C.
(
    W_STARTS, W_COUNT, W_BASE, W_LEAST, W_USES, W_USES_END, W_SETUP, W_PAIR, W_FIT, W_BY_START, W_BY_END, W_SIZE,
) = range(12)  # fmt: skip

# V: per resource of a way, the resource and the number of its row and setup among those of the job.
V_RESOURCE, V_KEY, V_SIZE = range(3)

# E: one start each; how many starts on the next cheaper one is, and the next that is cheaper at prices. U holds the units
# of all starts, then from N_PRICES on the same at prices.
E_START, E_END, E_LESS, E_PRICED, E_SIZE = range(5)

# A: a job that is waited for, or that waits, and the least and most minutes between; below 0: no most.
A_JOB, A_LEAST, A_MOST, A_SIZE = range(4)

# R: one resource each.
(
    R_TABLE, R_PER_MINUTE, R_CHANGE_MINUTES, R_CHANGE_UNITS, R_HOME, R_SETUP, R_CLOCK, R_MINUTES, R_MINUTES_COUNT,
    R_CHANGES, R_BREAKS, R_ROW, R_ALWAYS, R_SIZE,
) = range(14)  # fmt: skip

# S: a row is its count, units and last setup, then per stop the job, its start, end, place and the setup that it
# brings, and the setup and units before it.
S_COUNT, S_UNITS, S_SETUP, S_HEAD = range(4)
S_JOB, S_START, S_END, S_PLACE, S_BRINGS, S_STATE, S_LEG, S_SIZE = range(8)

# G: a gap is its soonest start, latest end and units on top.
G_LOW, G_HIGH, G_UNITS, G_SIZE = range(4)

# K: a list of gaps is where it begins and ends in G and the least units of any.
K_AT, K_END, K_UNITS, K_SIZE = range(4)

# X: lists as long as there are jobs.
(
    X_FREED, X_ORDER, X_ORDER_MORE, X_STACK, X_STACK_MORE, X_MARK, X_PENDING, X_TRIED, X_LOGGED, X_LOG, X_LOG_WAY,
    X_LOG_AT, X_WORTH, X_GROUP, X_KEY, X_LEFT, X_STAYS, X_SIZE,
) = range(18)  # fmt: skip

# What is written out where it is called, once compiled: the calls would take longer than the work.
WRITTEN_OUT = ("first_start", "after_ends", "cheapest", "find_gaps", "share_gaps", "fitting_gaps")

# Which of the lists that `run` takes hold numbers of 32 bits: V, E, A, D and C, so that more of them stay near at hand.
COLUMNS = 17
SHORT = (4, 5, 7, 9, 10)

MASK = 4294967295
FAR = 1 << 61
MOST = 1 << 60
MOST_WEIGHT = 30
CLOSE_TURNS = 4
NONE = -1


def rand(N, below):
    """Return a number of 0 to below - 1 (xorshift, 32 bits)."""
    x = N[N_RNG]
    x ^= (x << 13) & MASK
    x ^= x >> 17
    x ^= (x << 5) & MASK
    N[N_RNG] = x
    return (x * below) >> 32


def first_start(E, C, base, table, shift, low, high, minute):
    """Return the first of the starts low..high-1 that is not before a minute of 0 to the horizon."""
    low = max(low, C[table + (minute >> shift)])
    while low < high and E[(base + low) * E_SIZE + E_START] < minute:
        low += 1
    return min(low, high)


def after_ends(E, C, base, table, shift, low, high, minute):
    """Return the first of the starts low..high-1 whose end is after a minute of 0 to the horizon."""
    low = max(low, C[table + (minute >> shift)])
    while low < high and E[(base + low) * E_SIZE + E_END] <= minute:
        low += 1
    return min(low, high)


def cheapest(E, less, base, low, high):
    """Return the start of low..high-1 that costs least (by E_LESS or E_PRICED), the soonest of equals."""
    at = low
    while True:
        step = E[(base + at) * E_SIZE + less]
        if step == 0 or at + step >= high:
            return at
        at += step


def reach(R, C, row, minute, needed):
    """Return the soonest minute by which the resource was on the road for so long from a minute on, or FAR."""
    if needed == 0:
        return minute
    if R[row + R_ALWAYS]:
        return minute + needed
    last = C[R[row + R_CLOCK] + minute] + needed - 1
    if last >= R[row + R_MINUTES_COUNT]:
        return FAR
    return C[R[row + R_MINUTES] + last] + 1


def leave_by(R, C, row, minute, needed):
    """Return the latest minute from which the resource can be on the road for so long before a minute, or NONE."""
    if needed == 0:
        return minute
    if R[row + R_ALWAYS]:
        return max(NONE, minute - needed)
    first = C[R[row + R_CLOCK] + minute] - needed
    if first < 0:
        return NONE
    return C[R[row + R_MINUTES] + first]


def room(R, C, row, free_at, start):
    """Return the minutes on the road that a resource has between two minutes."""
    if R[row + R_ALWAYS]:
        return start - free_at
    clock = R[row + R_CLOCK]
    return C[clock + start] - C[clock + free_at]


def carry_on(R, S, row, stop, last, setup):
    """Have a setup stand from a stop on, up to the one that brings its own; return what that adds."""
    while stop < last:
        was, brings = S[stop + S_STATE], S[stop + S_BRINGS]
        S[stop + S_STATE] = setup
        if brings >= 0:
            units = 0
            if was >= 0 and was != brings:
                units -= R[row + R_CHANGE_UNITS]
            if setup >= 0 and setup != brings:
                units += R[row + R_CHANGE_UNITS]
            S[stop + S_LEG] += units
            return units
        stop += S_SIZE
    S[R[row + R_ROW] + S_SETUP] = setup
    return 0


def put(N, J, P, W, V, E, U, R, D, S, job, way, at):
    """Place a job that is left."""
    w = way * W_SIZE
    o = W[w + W_STARTS] + at
    start, end = E[o * E_SIZE + E_START], E[o * E_SIZE + E_END]
    p = job * P_SIZE
    P[p + P_WAY] = way
    P[p + P_AT] = at
    P[p + P_START] = start
    P[p + P_END] = end
    here, setup, places = J[job * J_SIZE + J_PLACE], W[w + W_SETUP], N[N_PLACES]
    units = W[w + W_BASE] + U[o] - J[job * J_SIZE + J_LEFT]
    for use in range(W[w + W_USES], W[w + W_USES_END]):
        row = V[use * V_SIZE + V_RESOURCE] * R_SIZE
        head = R[row + R_ROW]
        first = head + S_HEAD
        last = first + S[head + S_COUNT] * S_SIZE
        stop = last
        while stop > first and S[stop - S_SIZE + S_START] >= start:
            for field in range(S_SIZE):
                S[stop + field] = S[stop - S_SIZE + field]
            stop -= S_SIZE
        behind = stop + S_SIZE
        state = S[behind + S_STATE] if stop < last else S[head + S_SETUP]
        leg = more = 0
        if R[row + R_TABLE] >= 0:
            table, per_minute = R[row + R_TABLE], R[row + R_PER_MINUTE]
            place = S[stop - S_SIZE + S_PLACE] if stop > first else R[row + R_HOME]
            leg = D[table + place * places + here] * per_minute
            if stop < last:
                there = S[behind + S_PLACE]
                more = (D[table + here * places + there] - D[table + place * places + there]) * per_minute
                S[behind + S_LEG] += more
        if R[row + R_CHANGES] and setup >= 0 and setup != state:
            if state >= 0:
                leg += R[row + R_CHANGE_UNITS]
            more += carry_on(R, S, row, behind, last + S_SIZE, setup)
        S[stop + S_JOB] = job
        S[stop + S_START] = start
        S[stop + S_END] = end
        S[stop + S_PLACE] = here
        S[stop + S_BRINGS] = setup
        S[stop + S_STATE] = state
        S[stop + S_LEG] = leg
        S[head + S_COUNT] += 1
        S[head + S_UNITS] += leg + more
        units += leg + more
    N[N_UNITS] += units
    if J[job * J_SIZE + J_MUST]:
        N[N_MUST_LEFT] -= 1


def take(N, J, P, W, V, U, R, D, S, job):
    """Leave a job that is placed."""
    p = job * P_SIZE
    w = P[p + P_WAY] * W_SIZE
    o = W[w + W_STARTS] + P[p + P_AT]
    here, setup, places = J[job * J_SIZE + J_PLACE], W[w + W_SETUP], N[N_PLACES]
    units = J[job * J_SIZE + J_LEFT] - W[w + W_BASE] - U[o]
    for use in range(W[w + W_USES], W[w + W_USES_END]):
        row = V[use * V_SIZE + V_RESOURCE] * R_SIZE
        head = R[row + R_ROW]
        first = head + S_HEAD
        last = first + (S[head + S_COUNT] - 1) * S_SIZE
        stop = first
        while S[stop + S_JOB] != job:
            stop += S_SIZE
        state = S[stop + S_STATE]
        more = -S[stop + S_LEG]
        if stop < last and R[row + R_TABLE] >= 0:
            table = R[row + R_TABLE]
            place = S[stop - S_SIZE + S_PLACE] if stop > first else R[row + R_HOME]
            there = S[stop + S_SIZE + S_PLACE]
            leg = D[table + place * places + there] - D[table + here * places + there]
            S[stop + S_SIZE + S_LEG] += leg * R[row + R_PER_MINUTE]
            more += leg * R[row + R_PER_MINUTE]
        if R[row + R_CHANGES] and setup >= 0 and setup != state:
            more += carry_on(R, S, row, stop + S_SIZE, last + S_SIZE, state)
        while stop < last:
            for field in range(S_SIZE):
                S[stop + field] = S[stop + S_SIZE + field]
            stop += S_SIZE
        S[head + S_COUNT] -= 1
        S[head + S_UNITS] += more
        units += more
    P[p + P_WAY] = NONE
    N[N_UNITS] += units
    if J[job * J_SIZE + J_MUST]:
        N[N_MUST_LEFT] += 1


def needed_before(N, R, D, S, row, stop):
    """Return the minutes that must fit before a stop."""
    minutes = 0
    if R[row + R_TABLE] >= 0:
        place = R[row + R_HOME]
        if stop > R[row + R_ROW] + S_HEAD:
            place = S[stop - S_SIZE + S_PLACE]
        minutes = D[R[row + R_TABLE] + place * N[N_PLACES] + S[stop + S_PLACE]]
    if R[row + R_CHANGES]:
        setup, state = S[stop + S_BRINGS], S[stop + S_STATE]
        if setup >= 0 and state >= 0 and state != setup:
            minutes += R[row + R_CHANGE_MINUTES]
    return minutes


def row_holds(N, R, D, C, S, resource):
    """Whether every trip and change of a row fits; looked at only where taking out can break one."""
    return not R[resource * R_SIZE + R_BREAKS] or row_fits(N, R, D, C, S, resource)


def row_fits(N, R, D, C, S, resource):
    """Whether every stop, trip and change of a row fits."""
    row = resource * R_SIZE
    at = R[row + R_ROW]
    count = S[at + S_COUNT]
    free_at = 0
    for index in range(count):
        stop = at + S_HEAD + index * S_SIZE
        if S[stop + S_START] < free_at:
            return False
        needed = needed_before(N, R, D, S, row, stop)
        if needed and room(R, C, row, free_at, S[stop + S_START]) < needed:
            return False
        free_at = S[stop + S_END]
    return True


def is_sound(N, J, P, W, A, R, D, C, S):
    """Whether every row holds and every fixed job stands that can."""
    if N[N_HOLDS]:
        for job in range(N[N_JOBS]):
            j = job * J_SIZE
            if J[j + J_HOLDS] and P[job * P_SIZE + P_WAY] < 0:
                free = False
                for a in range(J[j + J_BEFORE] * A_SIZE, J[j + J_BEFORE_END] * A_SIZE, A_SIZE):
                    if P[A[a + A_JOB] * P_SIZE + P_WAY] < 0:
                        free = True
                if not free:
                    return False
    if N[N_BREAKS]:
        for resource in range(N[N_RESOURCES]):
            if not row_holds(N, R, D, C, S, resource):
                return False
    return True


def carry(N, R, D, C, S, row, stop, last, setup):
    """Return what a new setup before a stop adds at the next stop that brings its own; FAR: no room."""
    stop += S_SIZE
    while stop < last:
        brings = S[stop + S_BRINGS]
        if brings >= 0:
            state = S[stop + S_STATE]
            was = state >= 0 and state != brings
            now = setup != brings
            if was == now:
                return 0
            if was:
                return -R[row + R_CHANGE_UNITS]
            has = room(R, C, row, S[stop - S_SIZE + S_END], S[stop + S_START])
            needed = needed_before(N, R, D, S, row, stop) + R[row + R_CHANGE_MINUTES]
            return R[row + R_CHANGE_UNITS] if has >= needed else FAR
        stop += S_SIZE
    return 0


def find_gaps(N, R, D, C, S, G, K, key, free, row, place, setup, soonest, latest, short):
    """Write the gaps of a row in which a job at a place with a setup fits between two minutes; return what is free.

    Gaps shorter than so many minutes, less than which the job never takes, are passed over.
    """
    head = R[row + R_ROW]
    horizon, places = N[N_HORIZON], N[N_PLACES]
    table, per_minute = R[row + R_TABLE], R[row + R_PER_MINUTE]
    changes, change_minutes, change_units = (
        R[row + R_CHANGES],
        R[row + R_CHANGE_MINUTES],
        R[row + R_CHANGE_UNITS],
    )
    if not changes:
        setup = NONE
    g = free * G_SIZE
    least = FAR
    soon, late = soonest + short, latest - short
    first = head + S_HEAD
    last = first + S[head + S_COUNT] * S_SIZE
    stop = first
    while stop < last and S[stop + S_START] < soon:
        stop += S_SIZE
    here, free_at = R[row + R_HOME], 0
    if stop > first:
        here, free_at = S[stop - S_SIZE + S_PLACE], S[stop - S_SIZE + S_END]
    while stop < last and free_at <= late:
        start, there = S[stop + S_START], S[stop + S_PLACE]
        if free_at + short <= start:
            state = S[stop + S_STATE]
            need_in = need_out = units = 0
            if table >= 0:
                need_in = D[table + here * places + place]
                need_out = D[table + place * places + there]
                units = (need_in + need_out) * per_minute
            units -= S[stop + S_LEG]
            if setup >= 0 and state >= 0 and setup != state:
                need_in += change_minutes
                units += change_units
            fits = free_at + need_in <= late
            if changes:
                brings = S[stop + S_BRINGS]
                if brings >= 0:
                    after = setup if setup >= 0 else state
                    if after >= 0 and after != brings:
                        need_out += change_minutes
                        units += change_units
                elif fits and setup >= 0 and setup != state:
                    carried = carry(N, R, D, C, S, row, stop, last, setup)
                    if carried == FAR:
                        fits = False
                    else:
                        units += carried
            if fits and free_at + need_in + short + need_out <= start and soon + need_out <= start:
                low = reach(R, C, row, free_at, need_in)
                high = leave_by(R, C, row, start, need_out)
                G[g + G_LOW] = low
                G[g + G_HIGH] = high
                G[g + G_UNITS] = units
                if low + short <= high and soon <= high and low <= late:
                    g += G_SIZE
                    least = min(least, units)
        here = there
        free_at = S[stop + S_END]
        stop += S_SIZE
    if free_at + short <= horizon and free_at <= late:
        state = S[head + S_SETUP]
        need_in = D[table + here * places + place] if table >= 0 else 0
        units = need_in * per_minute
        if setup >= 0 and state >= 0 and setup != state:
            need_in += change_minutes
            units += change_units
        if free_at + need_in <= late:
            low = reach(R, C, row, free_at, need_in)
            if low + short <= horizon and low <= late:
                G[g + G_LOW] = low
                G[g + G_HIGH] = horizon
                G[g + G_UNITS] = units
                g += G_SIZE
                least = min(least, units)
    K[key + K_AT] = free
    K[key + K_END] = g // G_SIZE
    K[key + K_UNITS] = least
    return g // G_SIZE


def share_gaps(G, K, key, free, one, ones, other, others, soonest, latest, short):
    """Write what two lists of gaps have in common between two minutes, if not too short; return what is free."""
    g = free * G_SIZE
    least = FAR
    soon, late = soonest + short, latest - short
    a, b = one * G_SIZE, other * G_SIZE
    last_a, last_b = ones * G_SIZE, others * G_SIZE
    while a < last_a and b < last_b:
        low, high = G[a + G_LOW], G[a + G_HIGH]
        low_b, high_b = G[b + G_LOW], G[b + G_HIGH]
        units = G[a + G_UNITS] + G[b + G_UNITS]
        # Written so that nothing branches: which of two gaps ends first cannot be guessed.
        ends = high < high_b
        a += G_SIZE * ends
        b += G_SIZE * (1 - ends)
        low = max(low, low_b)
        high = high if ends else high_b
        G[g + G_LOW] = low
        G[g + G_HIGH] = high
        G[g + G_UNITS] = units
        fits = (low + short <= high) & (soon <= high) & (low <= late)
        g += G_SIZE * fits
        least = units if fits & (units < least) else least
    K[key + K_AT] = free
    K[key + K_END] = g // G_SIZE
    K[key + K_UNITS] = least
    return g // G_SIZE


def fitting_gaps(
    E, C, G, K, key, free, one, ones, base, by_start, shift, first, last, soonest, soonest_end, latest
):
    """Write those of a list of gaps in which one of the starts first..last-1 fits; return what is free."""
    g = free * G_SIZE
    least = FAR
    for i in range(one * G_SIZE, ones * G_SIZE, G_SIZE):
        low, high = G[i + G_LOW], G[i + G_HIGH]
        if low > latest:
            break
        if high < soonest_end:
            continue
        end = soonest_end
        if low > soonest:
            a = first_start(E, C, base, by_start, shift, first, last, low)
            end = E[(base + a) * E_SIZE + E_END]
        if end <= high:
            G[g + G_LOW] = low
            G[g + G_HIGH] = high
            G[g + G_UNITS] = G[i + G_UNITS]
            least = min(least, G[i + G_UNITS])
            g += G_SIZE
    K[key + K_AT] = free
    K[key + K_END] = g // G_SIZE
    K[key + K_UNITS] = least
    return g // G_SIZE


def insertion(N, J, P, W, V, E, U, A, R, D, C, S, G, K, job, limit):
    """Find the cheapest place of a job below a limit: return its units, with N_WAY and N_AT; or FAR.

    With a floor of 0 or more it may stand before what it waits for does, from that minute on.
    A blink overlooks a way now and then; a pull prefers sooner ends or later starts that cost a little more. In a round by
    prices the place is the cheapest at prices, if below the limit without them.
    """
    j = job * J_SIZE
    horizon, pull = N[N_HORIZON], N[N_PULL]
    loose = N[N_FLOOR] >= 0
    low, high = max(J[j + J_SOONEST], N[N_FLOOR], N[N_FROM]), horizon
    low_end, high_end = 0, min(J[j + J_LATEST], N[N_TO])
    for a in range(J[j + J_BEFORE] * A_SIZE, J[j + J_BEFORE_END] * A_SIZE, A_SIZE):
        p = A[a + A_JOB] * P_SIZE
        if P[p + P_WAY] < 0:
            if loose:
                continue
            return FAR
        end = P[p + P_END]
        low = max(low, end + A[a + A_LEAST])
        if A[a + A_MOST] >= 0:
            high = min(high, end + A[a + A_MOST])
    for a in range(J[j + J_BEHIND] * A_SIZE, J[j + J_BEHIND_END] * A_SIZE, A_SIZE):
        behind = A[a + A_JOB]
        start = NONE
        if P[behind * P_SIZE + P_WAY] >= 0:
            start = P[behind * P_SIZE + P_START]
        elif J[behind * J_SIZE + J_HOLDS]:
            # It will stand there or not at all.
            start = E[W[J[behind * J_SIZE + J_WAYS] * W_SIZE + W_STARTS] * E_SIZE + E_START]
        if start >= 0:
            high_end = min(high_end, start - A[a + A_LEAST])
            if A[a + A_MOST] >= 0:
                low_end = max(low_end, start - A[a + A_MOST])
    if low > high or low >= high_end or low_end > horizon:
        return FAR
    keys, pairs = J[j + J_KEYS], J[j + J_PAIRS]
    fold = K_SIZE * (keys + pairs + J[j + J_FITS])
    for k in range(0, fold, K_SIZE):
        K[k + K_AT] = NONE
    free = 0
    place, short = J[j + J_PLACE], J[j + J_SHORT]
    best = FAR
    bar = limit
    if pull > 0:
        bar = limit + pull * horizon
    pulled_at = E_END if pull > 0 else E_START
    known, first, last, cheap, by_start, by_end, shift = NONE, 0, 0, 0, 0, 0, N[N_SHIFT]
    soonest = soonest_end = latest = last_end = cheap_lured = 0
    lure = 0
    if pull > 0:
        lure = pull * (low + short)
    elif pull < 0:
        lure = pull * min(high, high_end - short)
    by_prices, prices = N[N_BY_PRICES], N[N_PRICES]
    if by_prices:
        bar = FAR
    blink = N[N_NEXT_BLINK] if N[N_BLINK] else FAR
    # Where no stop is a short cut, no gap costs less than nothing.
    certain = not N[N_BREAKS]
    for way in range(J[j + J_WAYS], J[j + J_WAYS_END]):
        w = way * W_SIZE
        least = W[w + W_LEAST]
        if least >= limit or least + lure >= bar:
            break
        blink -= 1
        if blink == 0:
            blink = 1 + rand(N, 2 * N[N_BLINK])
            continue
        base = W[w + W_STARTS]
        if base != known:
            known, count, by_start, by_end = base, W[w + W_COUNT], W[w + W_BY_START], W[w + W_BY_END]
            first = first_start(E, C, base, by_start, shift, 0, count, low)
            last = after_ends(E, C, base, by_end, shift, first, count, high_end)
            if high < horizon:
                last = min(last, first_start(E, C, base, by_start, shift, first, count, high + 1))
            if low_end:
                while first < last and E[(base + first) * E_SIZE + E_END] < low_end:
                    first += 1
            if first < last:
                cheap = U[base + cheapest(E, E_LESS, base, first, last)]
                soonest = E[(base + first) * E_SIZE + E_START]
                soonest_end = E[(base + first) * E_SIZE + E_END]
                latest = E[(base + last - 1) * E_SIZE + E_START]
                last_end = E[(base + last - 1) * E_SIZE + E_END]
                edge = first if pull > 0 else last - 1
                cheap_lured = cheap + pull * E[(base + edge) * E_SIZE + pulled_at]
                if by_prices:
                    cheap_lured = U[prices + base + cheapest(E, E_PRICED, base, first, last)]
        if first >= last:
            continue
        units = W[w + W_BASE]
        floor = units + cheap
        lured = units + cheap_lured
        if floor >= limit or lured >= bar:
            continue
        use, last_use = W[w + W_USES], W[w + W_USES_END] - 1
        setup = W[w + W_SETUP]
        if last_use < use:
            one, ones, least = free, free + 1, 0
            G[one * G_SIZE + G_LOW] = 0
            G[one * G_SIZE + G_HIGH] = horizon
            G[one * G_SIZE + G_UNITS] = 0
            other, others = one, ones
        else:
            # The gaps of the last resource, often the hand, in which one of the starts fits; where none, no more is asked.
            fit = K_SIZE * (keys + pairs + W[w + W_FIT])
            if K[fit + K_AT] < 0:
                key = V[last_use * V_SIZE + V_KEY] * K_SIZE
                if K[key + K_AT] < 0:
                    row = V[last_use * V_SIZE + V_RESOURCE] * R_SIZE
                    free = find_gaps(N, R, D, C, S, G, K, key, free, row, place, setup, low, high_end, short)
                free = fitting_gaps(
                    E,
                    C,
                    G,
                    K,
                    fit,
                    free,
                    K[key + K_AT],
                    K[key + K_END],
                    base,
                    by_start,
                    shift,
                    first,
                    last,
                    soonest,
                    soonest_end,
                    latest,
                )
            one, ones, least = K[fit + K_AT], K[fit + K_END], K[fit + K_UNITS]
            if one == ones or (certain and (floor + least >= limit or lured + least >= bar)):
                continue
            other, others = one, ones
        on_last = least
        number = 0
        while use < last_use:
            key = V[use * V_SIZE + V_KEY] * K_SIZE
            if K[key + K_AT] < 0:
                row = V[use * V_SIZE + V_RESOURCE] * R_SIZE
                free = find_gaps(N, R, D, C, S, G, K, key, free, row, place, setup, low, high_end, short)
            if number == 0:
                shared = key
            else:
                shared = K_SIZE * (keys + W[w + W_PAIR]) if number == 1 else fold
                if number > 1 or K[shared + K_AT] < 0:
                    free = share_gaps(
                        G, K, shared, free, one, ones, K[key + K_AT], K[key + K_END], low, high_end, short
                    )
            one, ones, least = K[shared + K_AT], K[shared + K_END], on_last + K[shared + K_UNITS]
            if one == ones or (certain and (floor + least >= limit or lured + least >= bar)):
                break
            number += 1
            use += 1
        if one == ones or floor + least >= limit or lured + least >= bar:
            continue
        alone = number == 0
        x, last_x, y, last_y = one * G_SIZE, ones * G_SIZE, other * G_SIZE, others * G_SIZE
        while x < last_x and (alone or y < last_y):
            gap_low, gap_high, on_top = G[x + G_LOW], G[x + G_HIGH], G[x + G_UNITS]
            if alone:
                x += G_SIZE
            else:
                gap_low = max(gap_low, G[y + G_LOW])
                on_top += G[y + G_UNITS]
                if gap_high < G[y + G_HIGH]:
                    x += G_SIZE
                else:
                    gap_high = G[y + G_HIGH]
                    y += G_SIZE
            if gap_low > latest:
                break
            if gap_low + short > gap_high or gap_high < soonest_end or lured + on_top >= bar:
                continue
            a, b = first, last
            if gap_low > soonest:
                a = first_start(E, C, base, by_start, shift, first, last, gap_low)
            if gap_high < last_end:
                b = after_ends(E, C, base, by_end, shift, a, last, gap_high)
            if a >= b:
                continue
            if by_prices:
                at = cheapest(E, E_PRICED, base, a, b)
                total = units + U[base + at] + on_top
                priced = units + U[prices + base + at] + on_top
                if total < limit and priced < bar:
                    bar = priced
                    best = total
                    N[N_WAY] = way
                    N[N_AT] = at
                continue
            at = cheapest(E, E_LESS, base, a, b)
            total = units + U[base + at] + on_top
            if pull != 0:
                edge = a if pull > 0 else b - 1
                at_edge = units + U[base + edge] + on_top
                start, edge_start = E[(base + at) * E_SIZE + pulled_at], E[(base + edge) * E_SIZE + pulled_at]
                if at_edge < limit and at_edge + pull * edge_start < total + pull * start:
                    at, total = edge, at_edge
            pulled = total
            if pull != 0:
                pulled = total + pull * E[(base + at) * E_SIZE + pulled_at]
            if total < limit and pulled < bar:
                bar = pulled
                best = total
                N[N_WAY] = way
                N[N_AT] = at
    if N[N_BLINK]:
        N[N_NEXT_BLINK] = blink
    return best


def stays(N, P, job):
    """Whether a job that stands is none of this search's part: the time from N_FROM to N_TO."""
    return P[job * P_SIZE + P_START] < N[N_FROM] or P[job * P_SIZE + P_END] > N[N_TO]


def log(N, P, X, job):
    """Note where a job stood when the round began."""
    n = N[N_JOBS]
    if X[X_LOGGED * n + job] != N[N_STAMP]:
        X[X_LOGGED * n + job] = N[N_STAMP]
        logged = N[N_LOGGED]
        X[X_LOG * n + logged] = job
        X[X_LOG_WAY * n + logged] = P[job * P_SIZE + P_WAY]
        X[X_LOG_AT * n + logged] = P[job * P_SIZE + P_AT]
        N[N_LOGGED] = logged + 1


def undo(N, J, P, W, V, E, U, R, D, S, X):
    """Put everything back where it stood when the round began."""
    n = N[N_JOBS]
    for i in range(N[N_LOGGED]):
        job = X[X_LOG * n + i]
        if P[job * P_SIZE + P_WAY] >= 0:
            take(N, J, P, W, V, U, R, D, S, job)
    for i in range(N[N_LOGGED]):
        if X[X_LOG_WAY * n + i] >= 0:
            put(N, J, P, W, V, E, U, R, D, S, X[X_LOG * n + i], X[X_LOG_WAY * n + i], X[X_LOG_AT * n + i])


def worth(N, J, A, X, number):
    """Return the most that jobs which wait for this one could still save, were it placed."""
    n = N[N_JOBS]
    j = number * J_SIZE
    total = 0
    for a in range(J[j + J_BEHIND] * A_SIZE, J[j + J_BEHIND_END] * A_SIZE, A_SIZE):
        total += X[X_PENDING * n + A[a + A_JOB]]
    if total == 0:
        return 0
    at = J[j + J_CHAIN_END] - 1
    while A[at] != number:
        job = A[at]
        i = job * J_SIZE
        total = 0
        if X[X_PENDING * n + job] and J[i + J_WAYS] < J[i + J_WAYS_END]:
            total = J[i + J_LEFT] - J[i + J_LEAST]
            for a in range(J[i + J_BEHIND] * A_SIZE, J[i + J_BEHIND_END] * A_SIZE, A_SIZE):
                total = min(MOST, total + X[X_WORTH * n + A[a + A_JOB]])
        X[X_WORTH * n + job] = max(0, total)
        at -= 1
    total = 0
    for a in range(J[j + J_BEHIND] * A_SIZE, J[j + J_BEHIND_END] * A_SIZE, A_SIZE):
        total = min(MOST, total + X[X_WORTH * n + A[a + A_JOB]])
    return total


def standing_behind(N, J, P, A, X, number):
    """List in X_GROUP the placed jobs that wait for one, straight or through others; return how many.

    Each comes after those of them that it waits for. Return NONE where one of them is of another search's part.
    """
    n = N[N_JOBS]
    j = number * J_SIZE
    found = False
    for a in range(J[j + J_BEHIND] * A_SIZE, J[j + J_BEHIND_END] * A_SIZE, A_SIZE):
        if P[A[a + A_JOB] * P_SIZE + P_WAY] >= 0:
            found = True
    if not found:
        return 0
    at = J[j + J_CHAIN]
    while A[at] != number:
        X[X_WORTH * n + A[at]] = 0
        at += 1
    X[X_WORTH * n + number] = 1
    count = 0
    for k in range(at + 1, J[j + J_CHAIN_END]):
        job = A[k]
        i = job * J_SIZE
        waits = 0
        if P[job * P_SIZE + P_WAY] >= 0:
            for a in range(J[i + J_BEFORE] * A_SIZE, J[i + J_BEFORE_END] * A_SIZE, A_SIZE):
                if X[X_WORTH * n + A[a + A_JOB]]:
                    waits = 1
        X[X_WORTH * n + job] = waits
        if waits:
            if stays(N, P, job):
                return NONE
            X[X_GROUP * n + count] = job
            count += 1
    return count


def hope(J, job):
    """Return the most that placing a job can save."""
    j = job * J_SIZE
    if J[j + J_WAYS] == J[j + J_WAYS_END]:
        return 0
    return max(0, J[j + J_LEFT] - J[j + J_LEAST])


def fill(N, J, P, W, V, E, U, A, R, D, C, S, G, K, X):
    """Put the jobs of the order in, each after the ones it waits for, where that is cheaper than leaving it.

    Return whether the plan may still end below the ceiling; once it cannot, or what waits for a job that found no place
    is of another search's part, no more is put in.
    """
    n = N[N_JOBS]
    pending, stack, tried = X_PENDING * n, X_STACK * n, X_TRIED * n
    ceiling, hopes = N[N_CEILING], 0
    for i in range(N[N_ORDER]):
        X[pending + X[X_ORDER * n + i]] = 1
        hopes += hope(J, X[X_ORDER * n + i])
    for i in range(N[N_ORDER]):
        X[stack] = X[X_ORDER * n + i]
        depth = 1
        while depth:
            number = X[stack + depth - 1]
            if not X[pending + number]:
                depth -= 1
                continue
            j = number * J_SIZE
            ahead = NONE
            for a in range(J[j + J_BEFORE] * A_SIZE, J[j + J_BEFORE_END] * A_SIZE, A_SIZE):
                if X[pending + A[a + A_JOB]]:
                    ahead = A[a + A_JOB]
            if ahead >= 0 and depth < 2 * n - 1:
                X[stack + depth] = ahead
                depth += 1
                continue
            depth -= 1
            X[pending + number] = 0
            hopes -= hope(J, number)
            limit = min(MOST, J[j + J_LEFT] + worth(N, J, A, X, number))
            if J[j + J_HOLDS]:
                limit = MOST
            limit = min(limit, ceiling - N[N_UNITS] + J[j + J_LEFT] + hopes + 1)
            total = insertion(N, J, P, W, V, E, U, A, R, D, C, S, G, K, number, limit)
            if total < FAR:
                log(N, P, X, number)
                put(N, J, P, W, V, E, U, R, D, S, number, N[N_WAY], N[N_AT])
                continue
            stuck = 0
            if N[N_UNITS] - hopes <= ceiling:
                if J[j + J_WAYS] == J[j + J_WAYS_END]:
                    continue
                stuck = standing_behind(N, J, P, A, X, number)
            if N[N_UNITS] - hopes > ceiling or stuck < 0:
                for k in range(i + 1, N[N_ORDER]):
                    X[pending + X[X_ORDER * n + k]] = 0
                for k in range(depth):
                    X[pending + X[stack + k]] = 0
                return False
            if stuck == 0 and N[N_CLOSE]:
                put_from_behind(N, J, P, W, V, E, U, A, R, D, C, S, G, K, X, number)
            if stuck == 0 or depth + stuck + 2 > 2 * n:
                continue
            for k in range(stuck):
                job = X[X_GROUP * n + stuck - 1 - k]
                log(N, P, X, job)
                take(N, J, P, W, V, U, R, D, S, job)
                X[pending + job] = 1
                hopes += hope(J, job)
                X[stack + depth] = job
                depth += 1
            if X[tried + number] != N[N_STAMP]:
                X[tried + number] = N[N_STAMP]
                X[pending + number] = 1
                hopes += hope(J, number)
                X[stack + depth] = number
                depth += 1
    return True


def close_ahead(N, J, P, A, X, number):
    """List in X_GROUP the placed jobs that may be only so long before one, nearest first; return how many.

    Return 0 where one of them must stay where it is, or does not stand.
    """
    n = N[N_JOBS]
    at = J[number * J_SIZE + J_CHAIN]
    last = at
    while A[last] != number:
        X[X_WORTH * n + A[last]] = 0
        last += 1
    X[X_WORTH * n + number] = 1
    count = 0
    while last >= at:
        job = A[last]
        j = job * J_SIZE
        if X[X_WORTH * n + job]:
            if job != number:
                if P[job * P_SIZE + P_WAY] < 0 or J[j + J_PINNED] or J[j + J_HOLDS] or stays(N, P, job):
                    return 0
                X[X_GROUP * n + count] = job
                count += 1
            for a in range(J[j + J_BEFORE] * A_SIZE, J[j + J_BEFORE_END] * A_SIZE, A_SIZE):
                if A[a + A_MOST] >= 0:
                    X[X_WORTH * n + A[a + A_JOB]] = 1
                elif P[A[a + A_JOB] * P_SIZE + P_WAY] < 0:
                    return 0
        last -= 1
    return count


def put_from_behind(N, J, P, W, V, E, U, A, R, D, C, S, G, K, X, number):
    """Put in a job that found no place soon enough after what it waits for: it first, then that before it, anew."""
    n = N[N_JOBS]
    j = number * J_SIZE
    binds = False
    for a in range(J[j + J_BEFORE] * A_SIZE, J[j + J_BEFORE_END] * A_SIZE, A_SIZE):
        if A[a + A_MOST] >= 0:
            binds = True
    if not binds:
        return
    most = min(MOST, N[N_UNITS] + worth(N, J, A, X, number))
    count = close_ahead(N, J, P, A, X, number)
    if count == 0:
        return
    pull, soonest = N[N_PULL], N[N_HORIZON]
    for k in range(count):
        job = X[X_GROUP * n + k]
        p = job * P_SIZE
        soonest = min(soonest, P[p + P_START])
        X[X_KEY * n + k], X[X_WORTH * n + k] = P[p + P_WAY], P[p + P_AT]
        log(N, P, X, job)
        take(N, J, P, W, V, U, R, D, S, job)
    done = False
    for turn in range(CLOSE_TURNS):
        N[N_PULL] = 0
        N[N_FLOOR] = soonest if turn == 1 else rand(N, N[N_HORIZON]) if turn else 0
        standing = 0
        while standing <= count:
            job = number if standing == 0 else X[X_GROUP * n + standing - 1]
            if standing:
                N[N_PULL] = -pull if pull > 0 else pull
                N[N_FLOOR] = 0
            if insertion(N, J, P, W, V, E, U, A, R, D, C, S, G, K, job, MOST) == FAR:
                break
            log(N, P, X, job)
            put(N, J, P, W, V, E, U, R, D, S, job, N[N_WAY], N[N_AT])
            standing += 1
        done = standing > count and N[N_UNITS] < most
        if done:
            break
        for k in range(standing):
            take(N, J, P, W, V, U, R, D, S, number if k == 0 else X[X_GROUP * n + k - 1])
    N[N_PULL] = pull
    N[N_FLOOR] = NONE
    if not done:
        for k in range(count):
            put(N, J, P, W, V, E, U, R, D, S, X[X_GROUP * n + k], X[X_KEY * n + k], X[X_WORTH * n + k])


def prune(N, J, P, W, V, E, U, A, R, D, C, S, X):
    """Leave jobs of the order, with all that wait for them, where that is cheaper than doing them."""
    n = N[N_JOBS]
    for i in range(N[N_ORDER]):
        number = X[X_ORDER * n + i]
        j = number * J_SIZE
        if P[number * P_SIZE + P_WAY] < 0 or J[j + J_MUST] or J[j + J_HOLDS]:
            continue
        count = standing_behind(N, J, P, A, X, number)
        if count < 0:
            continue
        X[X_GROUP * n + count] = number
        likely = 0
        for k in range(count + 1):
            job = X[X_GROUP * n + k]
            p, w = job * P_SIZE, P[job * P_SIZE + P_WAY] * W_SIZE
            likely += J[job * J_SIZE + J_LEFT] - W[w + W_BASE]
            likely -= U[W[w + W_STARTS] + P[p + P_AT]]
        w = P[number * P_SIZE + P_WAY] * W_SIZE
        road_most = 0
        for use in range(W[w + W_USES], W[w + W_USES_END]):
            road_most += S[R[V[use * V_SIZE + V_RESOURCE] * R_SIZE + R_ROW] + S_UNITS]
        if likely >= road_most:
            continue
        before = N[N_UNITS]
        for k in range(count + 1):
            job = X[X_GROUP * n + k]
            log(N, P, X, job)
            X[X_KEY * n + k] = P[job * P_SIZE + P_WAY]
            X[X_WORTH * n + k] = P[job * P_SIZE + P_AT]
            take(N, J, P, W, V, U, R, D, S, job)
        if N[N_UNITS] >= before or not is_sound(N, J, P, W, A, R, D, C, S):
            for k in range(count + 1):
                put(N, J, P, W, V, E, U, R, D, S, X[X_GROUP * n + k], X[X_KEY * n + k], X[X_WORTH * n + k])


def free(N, P, X, job):
    """Note a job to be taken out in this round, or tried, if it is of this search's part."""
    n = N[N_JOBS]
    if P[job * P_SIZE + P_WAY] >= 0:
        if stays(N, P, job):
            return
    elif X[X_STAYS * n + job]:
        return
    if X[X_MARK * n + job] != N[N_STAMP]:
        X[X_MARK * n + job] = N[N_STAMP]
        X[X_FREED * n + N[N_FREED]] = job
        N[N_FREED] += 1


def free_chain(N, J, P, A, X, job, later):
    """Free a job and those bound to it, or only the ones that come after it."""
    j = job * J_SIZE
    at = J[j + J_CHAIN]
    if later:
        while A[at] != job:
            at += 1
    most = 2 * N[N_MOST_FREED]
    for k in range(at, J[j + J_CHAIN_END]):
        if N[N_FREED] < most:
            free(N, P, X, A[k])


def free_string(N, J, P, R, S, X, resource, minute, count):
    """Free neighboring stops of a row, so many at most, around a minute."""
    row = R[resource * R_SIZE + R_ROW]
    stops = S[row + S_COUNT]
    if stops == 0:
        return
    at = 0
    while at < stops - 1 and S[row + S_HEAD + at * S_SIZE + S_END] <= minute:
        at += 1
    count = min(count, stops)
    first = max(0, min(stops - count, at - rand(N, count)))
    for k in range(first, first + count):
        free(N, P, X, S[row + S_HEAD + k * S_SIZE + S_JOB])


def free_in_the_way(N, J, P, W, V, E, A, R, C, S, X, job):
    """Free what stands in the way of a job and of the ones bound to it that are left, at some time and way of each."""
    j = job * J_SIZE
    n = N[N_JOBS]
    low = N[N_FROM]
    for a in range(J[j + J_BEFORE] * A_SIZE, J[j + J_BEFORE_END] * A_SIZE, A_SIZE):
        if P[A[a + A_JOB] * P_SIZE + P_WAY] >= 0:
            low = max(low, P[A[a + A_JOB] * P_SIZE + P_END] + A[a + A_LEAST])
    most = 2 * N[N_MOST_FREED]
    for k in range(J[j + J_CHAIN], J[j + J_CHAIN_END]):
        number = A[k]
        i = number * J_SIZE
        ways = J[i + J_WAYS_END] - J[i + J_WAYS]
        if P[number * P_SIZE + P_WAY] >= 0 or ways == 0 or N[N_FREED] >= most:
            continue
        free(N, P, X, number)
        X[X_KEY * n + number] = -MOST
        w = (J[i + J_WAYS] + rand(N, ways)) * W_SIZE
        base, count = W[w + W_STARTS], W[w + W_COUNT]
        if low > N[N_HORIZON]:
            continue
        count = after_ends(E, C, base, W[w + W_BY_END], N[N_SHIFT], 0, count, N[N_TO])
        at = first_start(E, C, base, W[w + W_BY_START], N[N_SHIFT], 0, count, low)
        if at >= count:
            continue
        at += (rand(N, count - at) * rand(N, 1024)) >> 10
        start, end = E[(base + at) * E_SIZE + E_START], E[(base + at) * E_SIZE + E_END]
        low = end
        for use in range(W[w + W_USES], W[w + W_USES_END]):
            row = R[V[use * V_SIZE + V_RESOURCE] * R_SIZE + R_ROW]
            for index in range(S[row + S_COUNT]):
                stop = row + S_HEAD + index * S_SIZE
                if S[stop + S_START] < end and S[stop + S_END] > start and N[N_FREED] < most:
                    free(N, P, X, S[stop + S_JOB])


def some_placed(N, P):
    """Return a job that stands in this search's part, at random, or NONE."""
    n = N[N_JOBS]
    at = rand(N, n)
    for _ in range(n):
        if P[at * P_SIZE + P_WAY] >= 0 and not stays(N, P, at):
            return at
        at = at + 1 if at + 1 < n else 0
    return NONE


def dearness(J, P, W, U, job):
    """Return what a placed job costs above its cheapest."""
    p = job * P_SIZE
    w = P[p + P_WAY] * W_SIZE
    return W[w + W_BASE] + U[W[w + W_STARTS] + P[p + P_AT]] - J[job * J_SIZE + J_LEAST]


def ruin(N, J, P, W, V, E, U, A, R, C, S, X):
    """Choose the jobs to take out; some left ones among them go in before all others, or victims after them."""
    n = N[N_JOBS]
    count = 2 + rand(N, N[N_MOST_FREED])
    pick = rand(N, 100)
    seed = some_placed(N, P)
    if N[N_LEFT] and (seed < 0 or pick < 30):
        job = X[X_LEFT * n + rand(N, N[N_LEFT])]
        if pick < 20 or seed < 0:
            free_in_the_way(N, J, P, W, V, E, A, R, C, S, X, job)
            return
        # The left one first; one in its way last with all that waits for it, and the neighbors of that one.
        j = job * J_SIZE
        w = (J[j + J_WAYS] + rand(N, J[j + J_WAYS_END] - J[j + J_WAYS])) * W_SIZE
        uses = W[w + W_USES_END] - W[w + W_USES]
        if uses == 0:
            return
        resource = V[(W[w + W_USES] + rand(N, uses)) * V_SIZE + V_RESOURCE]
        row = R[resource * R_SIZE + R_ROW]
        if S[row + S_COUNT] == 0:
            free_in_the_way(N, J, P, W, V, E, A, R, C, S, X, job)
            return
        victim = S[row + S_HEAD + rand(N, S[row + S_COUNT]) * S_SIZE + S_JOB]
        for k in range(J[j + J_CHAIN], J[j + J_CHAIN_END]):
            if P[A[k] * P_SIZE + P_WAY] < 0:
                free(N, P, X, A[k])
                X[X_KEY * n + A[k]] = -MOST
        freed = N[N_FREED]
        free_chain(N, J, P, A, X, victim, True)
        for k in range(freed, N[N_FREED]):
            X[X_KEY * n + X[X_FREED * n + k]] = MOST
        start = P[victim * P_SIZE + P_START]
        for use in range(W[w + W_USES], W[w + W_USES_END]):
            free_string(N, J, P, R, S, X, V[use * V_SIZE + V_RESOURCE], start, 1 + (count >> 1))
        return
    if seed < 0:
        return
    j = seed * J_SIZE
    start = P[seed * P_SIZE + P_START]
    near = J[j + J_NEAR_END] - J[j + J_NEAR]
    if pick < 45:
        # A chain, then neighbors or their chains.
        free_chain(N, J, P, A, X, seed, False)
        for k in range(J[j + J_NEAR], J[j + J_NEAR_END]):
            if N[N_FREED] >= count:
                break
            if rand(N, 8) < 5:
                if rand(N, 2):
                    free_chain(N, J, P, A, X, A[k], False)
                else:
                    free(N, P, X, A[k])
    elif pick < 75:
        # Strings of rows: the seed's, then those of its neighbors.
        length = 1 + rand(N, 5)
        job = seed
        tries = 0
        while N[N_FREED] < count and tries < 12:
            w = P[job * P_SIZE + P_WAY] * W_SIZE
            uses = W[w + W_USES_END] - W[w + W_USES]
            if uses and P[job * P_SIZE + P_WAY] >= 0:
                resource = V[(W[w + W_USES] + rand(N, uses)) * V_SIZE + V_RESOURCE]
                free_string(N, J, P, R, S, X, resource, start, length)
            tries += 1
            if near == 0:
                break
            job = A[J[j + J_NEAR] + ((rand(N, near) * rand(N, 1024)) >> 10)]
            if P[job * P_SIZE + P_WAY] < 0:
                job = seed
    elif pick < 85:
        # Neighbors that stand at about the same time.
        width = 240 + rand(N, 1440)
        free(N, P, X, seed)
        for k in range(J[j + J_NEAR], J[j + J_NEAR_END]):
            p = A[k] * P_SIZE
            if N[N_FREED] < count and P[p + P_WAY] >= 0 and abs(P[p + P_START] - start) < width:
                free(N, P, X, A[k])
    elif pick < 92:
        # What costs most above its cheapest, with its chain.
        for _ in range(1 + rand(N, 3)):
            job = some_placed(N, P)
            for _ in range(4):
                other = some_placed(N, P)
                if dearness(J, P, W, U, other) > dearness(J, P, W, U, job):
                    job = other
            free_chain(N, J, P, A, X, job, rand(N, 2) == 0)
    elif pick < 97:
        free_chain(N, J, P, A, X, seed, True)
    else:
        for _ in range(count):
            free(N, P, X, rand(N, n))


def add_left(N, J, P, A, X):
    """Have some of the left jobs tried too, each after the left ones that it waits for."""
    n = N[N_JOBS]
    if N[N_LEFT] == 0:
        return
    most = N[N_FREED] + N[N_MOST_LEFT]
    for _ in range(N[N_MOST_LEFT]):
        job = X[X_LEFT * n + rand(N, N[N_LEFT])]
        for k in range(J[job * J_SIZE + J_CHAIN], J[job * J_SIZE + J_CHAIN_END]):
            i = A[k] * J_SIZE
            if P[A[k] * P_SIZE + P_WAY] < 0 and J[i + J_WAYS] < J[i + J_WAYS_END] and N[N_FREED] < most:
                free(N, P, X, A[k])


def sort(N, J, P, X):
    """Lay the order in which the freed jobs go back in."""
    n = N[N_JOBS]
    pick = rand(N, 8)
    key, order = X_KEY * n, X_ORDER * n
    for i in range(N[N_FREED]):
        job = X[X_FREED * n + i]
        j = job * J_SIZE
        if X[key + job] == 0:
            if pick == 1:
                X[key + job] = J[j + J_DUE]
            elif pick == 2:
                X[key + job] = -J[j + J_LEFT]
            elif pick == 3:
                X[key + job] = J[j + J_WAYS_END] - J[j + J_WAYS]
            elif pick == 4:
                X[key + job] = -J[j + J_PRICE]
            elif pick == 5:
                X[key + job] = J[j + J_LEAST] - J[j + J_LEFT]
            elif pick >= 6:
                # As they stood, roughly: a job that was left comes at a random minute.
                X[key + job] = P[job * P_SIZE + P_START] + rand(N, 240)
                if X[X_LOGGED * n + job] != N[N_STAMP]:
                    X[key + job] = rand(N, N[N_HORIZON])
        # Those of one key at random: each is put before a random number of the ones with its key.
        value = X[key + job]
        skip = rand(N, i + 1)
        k = i
        while k > 0:
            other = X[key + X[order + k - 1]]
            if other < value or (other == value and skip == 0):
                break
            if other == value:
                skip -= 1
            X[order + k] = X[order + k - 1]
            k -= 1
        X[order + k] = job
    N[N_ORDER] = N[N_FREED]


def keep_best(N, P, B):
    """Keep the plan as it stands if it is the best so far."""
    if N[N_MUST_LEFT] > N[N_BEST_MUST] or (N[N_MUST_LEFT] == N[N_BEST_MUST] and N[N_UNITS] >= N[N_BEST]):
        return
    N[N_BEST] = N[N_UNITS]
    N[N_BEST_MUST] = N[N_MUST_LEFT]
    for job in range(N[N_JOBS]):
        B[2 * job] = P[job * P_SIZE + P_WAY]
        B[2 * job + 1] = P[job * P_SIZE + P_AT]


def search_round(N, J, P, W, V, E, U, A, R, D, C, S, G, K, X, B, T):
    """Take some jobs out and put them back; keep the outcome if it is sound and not too dear."""
    n = N[N_JOBS]
    N[N_STAMP] += 1
    N[N_LOGGED] = N[N_FREED] = N[N_LEFT] = 0
    for job in range(n):
        X[X_KEY * n + job] = 0
        ways = J[job * J_SIZE + J_WAYS_END] - J[job * J_SIZE + J_WAYS]
        if P[job * P_SIZE + P_WAY] < 0 and ways and not X[X_STAYS * n + job]:
            X[X_LEFT * n + N[N_LEFT]] = job
            N[N_LEFT] += 1
    # What must be done and is left may go before cost; and with short cuts a row may cost less than its parts.
    ceiling = N[N_UNITS] + ((N[N_WARMTH] * T[rand(N, 1024)]) >> 10)
    N[N_CEILING] = MOST if N[N_BUMP] or N[N_BREAKS] else ceiling
    ruin(N, J, P, W, V, E, U, A, R, C, S, X)
    for i in range(N[N_FREED]):
        job = X[X_FREED * n + i]
        if P[job * P_SIZE + P_WAY] >= 0:
            log(N, P, X, job)
            take(N, J, P, W, V, U, R, D, S, job)
    add_left(N, J, P, A, X)
    sort(N, J, P, X)
    N[N_PULL] = N[N_BY_PRICES] = 0
    if N[N_PRICED] and rand(N, 100) < N[N_PRICED]:
        N[N_BY_PRICES] = 1
    elif rand(N, 10) >= 3:
        # A tenth to ten times the scale a day.
        pull = (N[N_SCALE] * T[1024 + rand(N, 1024)]) >> 10
        pull = pull // 1440
        N[N_PULL] = pull if rand(N, 10) < 7 else -pull
    may_be_kept = fill(N, J, P, W, V, E, U, A, R, D, C, S, G, K, X)
    N[N_PULL] = N[N_BY_PRICES] = 0
    if may_be_kept:
        prune(N, J, P, W, V, E, U, A, R, D, C, S, X)
    if not may_be_kept or not is_sound(N, J, P, W, A, R, D, C, S):
        undo(N, J, P, W, V, E, U, R, D, S, X)
        return
    keep_best(N, P, B)
    if N[N_UNITS] > ceiling:
        undo(N, J, P, W, V, E, U, R, D, S, X)
    else:
        N[N_KEPT] += 1
    if N[N_BUMP] and N[N_MUST_LEFT]:
        # What must be done and is left weighs ever more, until it gets in; all weights shrink before they run over.
        heavy = False
        for job in range(n):
            if J[job * J_SIZE + J_MUST] and P[job * P_SIZE + P_WAY] < 0:
                J[job * J_SIZE + J_LEFT] += N[N_BUMP]
                N[N_UNITS] += N[N_BUMP]
                heavy = heavy or J[job * J_SIZE + J_LEFT] > MOST_WEIGHT * N[N_MUST]
        if heavy:
            for job in range(n):
                if J[job * J_SIZE + J_MUST]:
                    less = (J[job * J_SIZE + J_LEFT] - N[N_MUST]) // 2
                    J[job * J_SIZE + J_LEFT] -= less
                    if P[job * P_SIZE + P_WAY] < 0:
                        N[N_UNITS] -= less


def in_order(J, P, A, job):
    """Whether a job keeps the minutes to all that it waits for and all that waits for it, where both stand."""
    j = job * J_SIZE
    p = job * P_SIZE
    stands = P[p + P_WAY] >= 0
    for a in range(J[j + J_BEFORE] * A_SIZE, J[j + J_BEFORE_END] * A_SIZE, A_SIZE):
        other = A[a + A_JOB] * P_SIZE
        if stands:
            between = P[p + P_START] - P[other + P_END]
            if P[other + P_WAY] < 0 or between < A[a + A_LEAST]:
                return False
            if A[a + A_MOST] >= 0 and between > A[a + A_MOST]:
                return False
    for a in range(J[j + J_BEHIND] * A_SIZE, J[j + J_BEHIND_END] * A_SIZE, A_SIZE):
        other = A[a + A_JOB] * P_SIZE
        if P[other + P_WAY] >= 0:
            between = P[other + P_START] - P[p + P_END]
            if not stands or between < A[a + A_LEAST]:
                return False
            if A[a + A_MOST] >= 0 and between > A[a + A_MOST]:
                return False
    return True


def move(N, J, P, W, V, E, U, A, R, D, C, S, X, B):
    """Stand as the second half of B says if that keeps every rule, else as before; N_MOVED tells which."""
    n = N[N_JOBS]
    N[N_STAMP] += 1
    N[N_LOGGED] = N[N_MOVED] = 0
    for job in range(n):
        p, to = job * P_SIZE, 2 * (n + job)
        if P[p + P_WAY] != B[to] or (B[to] >= 0 and P[p + P_AT] != B[to + 1]):
            log(N, P, X, job)
            if P[p + P_WAY] >= 0:
                take(N, J, P, W, V, U, R, D, S, job)
    for i in range(N[N_LOGGED]):
        job = X[X_LOG * n + i]
        to = 2 * (n + job)
        if B[to] >= 0:
            put(N, J, P, W, V, E, U, R, D, S, job, B[to], B[to + 1])
    keeps = is_sound(N, J, P, W, A, R, D, C, S)
    for i in range(N[N_LOGGED]):
        keeps = keeps and in_order(J, P, A, X[X_LOG * n + i])
    for resource in range(N[N_RESOURCES]):
        keeps = keeps and row_fits(N, R, D, C, S, resource)
    if keeps:
        N[N_MOVED] = 1
        keep_best(N, P, B)
    else:
        undo(N, J, P, W, V, E, U, R, D, S, X)


def run(N, J, P, W, V, E, U, A, R, D, C, S, G, K, X, B, T, rounds):
    """Do so many rounds; or, for a number below 0, move to where B says."""
    if rounds < 0:
        move(N, J, P, W, V, E, U, A, R, D, C, S, X, B)
        return
    for _ in range(rounds):
        search_round(N, J, P, W, V, E, U, A, R, D, C, S, G, K, X, B, T)
    N[N_ROUNDS] += rounds
