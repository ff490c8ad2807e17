"""What stands in the places of a message when it is shown as an example."""

# Functions that only show or trim what they are given.
SAME_AS_FIRST = frozenset(
    (
        "_trim",
        "abs",
        "ascii",
        "clean",
        "escaped",
        "float",
        "int",
        "join",
        "lower_first",
        "map",
        "mean_text",
        "normalize",
        "plain",
        "plural",
        "printable",
        "quote",
        "quoted",
        "_plain",
        "repr",
        "round",
        "set",
        "shortened",
        "shortest",
        "shown",
        "signed",
        "signed_text",
        "sorted",
        "str",
        "text_of",
        "trimmed",
        "tuple",
    )
)

# Methods that only trim the text that they belong to.
TRIMS = frozenset(
    ("absolute", "lower", "removeprefix", "removesuffix", "lstrip", "rstrip", "strip", "upper")
)

# By the whole expression, where its last name would mislead.
BY_EXPRESSION = {
    "key_name(usage)": "F13 (68)",
    "key_name(pressed[0])": "F13 (68)",
    "offer": "Press send once more at M1 front 90° within 10 s",
    "back.identity.text": "usb:1209:0007:A2",
    "low.unit": "mm",
    "seal.program": "0.4.0",
    "__version__": "0.4.0",
    "extra": "pdf",
    "module": "weasyprint",
    "facts.pdf_libraries": "libpango-1.0.so.0",
    "gauge.permitted_error": "0.004 mm",
    "height": "900",
    "min(unknown)": "place",
    "others[0]": "paplay",
    "way.name": "aplay",
    "port.identity.text": "usb:1209:0007:A2",
    "identity_of_unit(unit, tree).text": "usb:1209:0007:A2",
    "identity(device, attached).text": "usb:1209:0007:A2",
    "list(closed.reasons)": "['1 of 3 checks failed']",
    "path.parent": "plans",
    "in_short(names, state)": "M1 … M4",
    "key_words.several(one.journals)": "M1, M2",
    "blocks": "M88",
    "slip": "is a digit missing",
    "links.board": "http://127.0.0.1:8080/kM3e…/",
    "links.press": "http://127.0.0.1:8080/w0Zq…/",
    "list(said)": "[]",
    "many": " (3 times)",
    "row.k": "12",
    "seconds": "10",
    "_of_which(plain[0], tables)": "readings.value",
    "event.same_gauge": "the plug was changed",
    "one.k": "12",
    "plan.part": "crank",
    "overview.name": "mic-50-75",
    "history.name": "mic-50-75",
    "gauge.name": "mic-50-75",
    "group.name": "mains",
    "step.name": "0.25",
    "beyond.name": "0.50",
    "present.name": "0.25",
    "self.block_set.name": "M88",
    "block_set.name": "M88",
    "maker.block_set.name": "M88",
    "base.name": "M88",
    "port.name": "/dev/ttyUSB0",
    "where.gauge": "gauges/mic-50-75.toml",
    "where.profile": "profiles/mic-50-75.toml",
    "stack.coefficient.value": "11.5e-6",
    "frame.length": "8",
    "parameter.name": "plan",
    "token.name": "sign",
    "field.key": "f2",
    "size.text": "54.012",
    "taper.form.text": "0.004",
    "taper.form.at": "45 between rear and front",
    "': '.join(words)": "it cannot be read: no such file",
    "state.ending": "later",
    "misfit": "'a5'",
    "any_of_them": '"a4" or "letter"',
}

# By the last name of an expression: `self.path`, `path` and `path(…)` are all `path`.
BY_NAME = {
    line.strip().partition(" =")[0]: line.partition(" =")[2].removeprefix(" ")
    for line in """
    _apart = 0.002
    _as_read = read 54.012, 0.0010 taken off;
    _count = 3 readings
    _do = press send on the stack
    _dof = 9.4
    _duration = 4 ms
    _effective = 9.4
    _ends = with CR LF
    _finer = A step of 0.001 mm would do
    _holes = : not measured M2 front 45
    _how = press send on the gauge
    _install = pip install pyusb
    _known = 0.25, 0.50
    _like = like 54.012
    _list_of = ["front", "rear"]
    _needed = text in quotes
    _table_words = [defaults]
    asked_for = M2 front 45 was asked for
    cannot = the disk cannot be read
    held = press again
    here = low, high
    point = 59.97
    quote = "
    straight = "
    _called = M2
    _example = 59.97
    _failed = the check after failed
    _forced = M3 needs it
    _form_shown = 0.004
    _limit = 0.002
    _printed_example = 59.97 to 59.99
    _small = 0.25
    _strange = 5.997 mm
    _text = mains
    _undersizes = 0.25 0.50
    _worst = M3 rear 90
    a_journal = M2
    abandon_loses = 12
    astimezone = 14:20
    hours = 1
    proven = 12
    above = 60.5 mm
    amounts = M3 by 0.009 mm
    answers = plan.toml.answers
    are = are
    called = mains
    chance = 97 %
    change = high = 59.99 mm
    copy = plan.toml
    finer = 0.0002
    help = The smallest diameter that may serve
    letter = M
    lobes = 3
    minutes = 25
    off_round = 0.004
    other_text = 2.3622 in
    parse_length = 1 mm
    press = press send
    removeprefix = good
    sentence = Its unit is in.
    served = may serve
    start = M2 front 45
    stop_rejects = 12
    stripped = 59,97
    tainted = 12
    taken_off = 0.0010
    takes = takes 12 %
    tenth = 0.1
    to = 59.990
    spoken = M2 front 45°
    is_on = inch
    told = M2
    token = 59,97
    until_then = until the closing check
    _mm_text = 0.003
    other_unit = in
    _listed = usb:1209:0007:A2 (Gauge)
    _millionths = 11.5
    _name = 20261125T080000Z-kqwe
    _number = 0.58
    _off = 54.012 mm is 0.003 mm
    _parsed_number = 12
    _percent = 97 %
    _probability = 95 %
    _protected = 4
    _provisional = (not proven yet)
    _quoted = "60 mm"
    _ratio = 10
    _remedy = A finer gauge helps
    _rule_words = simple acceptance
    _sentence = Its unit is in.
    _sep = .
    _set_words = the set M88
    _shown = 0.25
    _signed = -0.003
    _size = 1 MiB
    _sizes = 60 mm
    _title = Gauge (usb:1209:0007:A2)
    _type_it = Type all digits, like 54.012
    _u = 0.7
    _unit = mm
    _usual = (usual: 4 µm)
    _words = + and -
    address = 14
    again = jbridge resume kqwe
    against = has no such undersize
    age = 31
    allowed = 1, 2
    alpha = 0.05
    angle = 45
    angle_deg = 45
    angles = 0 45 90 135
    answer = channel
    apart = 3.0
    argument = REASON
    around = 20 °C
    as_read = 54.012
    asked = M2 front 45
    at = M2 front 45
    at_20c = 0.0003
    away = 3.2
    banner = 'SENSOR 7'
    basis = ordinary wringing
    before = 0.0010
    begin = M2 is 0.001 mm from its limit
    below = M3 is BELOW its low limit
    beyond = outside the limits of M2
    bias_words = +0.0004 mm
    bit = 9
    body = 1.5 mm
    both = 54.012 and 54.112
    bore = 64 mm
    build = --stack "57.982 mm"
    burst = \\x80\\x04
    bursts = 54.012\\r54.013\\n
    bus = 1
    by = 0.25 mm
    by_name = hub
    byte = 0x80
    cause = 3 °C between part and stack
    celsius = 51
    certificate = 4711
    certified = 60 mm
    chain = 4f0c…
    channel = 2
    chars = digit
    choices = yes, no
    chosen = 0.25
    clean_up = 0.05 mm
    clearance_largest_mm = 0.061
    clearance_smallest_mm = 0.032
    clock_at = 2026-11-25
    code = bad-check
    coefficient = (11.5 +- 1)e-6 /K
    columns = 80
    command = minicom
    commands = sudo udevadm trigger
    condition = the battery is low
    confidence = 0.95
    Context = 54.012
    copy_abs = 0.003
    count = 3
    coverage = 1.2
    cross = 2.3610 in
    crlf = CR LF
    Counter = 12
    data = 54.012\\r\\n54.012
    dat = 60 mm
    date = 2026-11-25
    day = 2026-11-25
    Decimal = 0.001
    decimals = 3
    default = 54.012
    demos = 2
    deserves = 0.001
    despite = new anvils
    detail = no such device
    deviation = 1 mm
    device = usb:1209:0007:A2
    did = plugged in
    digit = 0.001
    digits = 12
    do = press send on the stack
    does = speaks
    done = 12
    doubts = 2 things look odd
    drift = 0.0004
    due = 2026-11-25
    duration = 1.2 s
    each = 1.005 mm +0.02 µm
    elapsed = 3.2
    encode = 54.0x
    encoding = latin-1
    end = CR
    ending = later
    ends = CR LF
    enough = two readings a place
    entries = + and -
    entry = NP
    error = no such file or directory
    error_mm = 0.0010
    estimate = 0.4
    every = two readings a place and a finer gauge
    every_s = 0.5
    exact = 3
    example = M1/front/0
    expanded_um = 0.12
    expected = a number like 54.012
    failed = 20261125T080000Z-kqwe
    far = M1
    exit_code = 3
    failure = did not end within 5 s
    fault = its end is missing
    faults = no flip=2
    field = mean_error_mm
    file = mains.toml
    find = 54.012
    first = 1
    first_name = M1
    flags = hold
    floor = -0.002
    folder = sessions/20261125T080000Z-kqwe
    following = M4
    form = fixed
    format = hex
    format_message = No such option: --job-name
    found = 3
    frame = 7
    frames = '54.012 mm'
    free = 12 MB
    function = 3
    gap = 0.2 s
    gauge = mic-50-75
    getpgid = 12
    given = 7
    gone = Ctrl-C
    got = 54.012
    grade = 7
    greatest = 1.5 mm
    greatest_undersize = 1.5 mm
    group = mains
    guard = 0.02
    half_width = 1e-6
    hand = 3.2
    happened = another program cut it
    head = M1 to M5: low limit 57.97 mm
    helps = Free some space
    hex = 35342e3031
    hidden = µ
    high = 60 mm
    hint = (is the decimal point right?)
    holders = minicom (process 4711)
    holes = : not measured M2 front 45
    home = /home/ada/jbridge
    how = from
    html = guide.html
    id = number-unit-crlf
    identity = usb:1209:0007:A2
    in_other_unit = 59.97 mm is 2.36102 in
    inch = 2.3610 in
    inches = 2.3610
    index = 2
    installed = /etc/udev/rules.d/70-gauge.rules
    is_now = 23
    it5 = 13
    it7 = 30
    joints = 3
    instead = the terminal's bell is rung
    journal = M2
    journals = M1, M2
    kept = All that was confirmed is stored
    key = repeats
    keys = press Enter or the space bar
    kind = text
    kinds = bcd
    known = 0.25, 0.50
    labels = 3
    largest = 54.014
    last = 2026-11-25
    layouts = us and de
    least = 0.004
    left = 5
    length = 60 mm
    Length = 25 mm
    like = M99
    limit = 0.005
    limit_text = 0.5e-6
    limit_words = 59.970 mm
    limits = 59.97 mm
    line = 9600 8N1
    link = /tmp/gauge
    listed = 57.97 mm and 58 mm
    lit = ','
    local_offset = 25:00
    lone = journals without a group
    lost = Cable out.
    low = 25 mm
    lows = 59.97 mm
    mark = A
    marks = ends with CR LF
    maximum = 3
    mean = 45
    mean_error = 0.0010
    meaning = not proven
    meant = Did you mean plan?
    message = missing: pyusb. Install: `pip install pyusb`
    method = analysis of variance
    metric = 59.97 mm
    mine = ok
    missing = certificate_date
    mm = 59.97
    mm_text = 0.0007
    more = 2
    most = 10
    mountpoint = /dev/shm
    n = 4
    name = M2
    named = M2 front 45
    names = M1, M2
    names_in = M1 and M2
    natural_verdict = accepted
    near = plan
    needed = 0.001
    needed_twice = 1.005 mm
    new_flags = hold
    nibble = 11
    nibbles = 11
    no_reading = no-size
    nominal = 57.97 mm
    normalized = 54.012
    not_kept =  The last reading was NOT kept.
    note = 4 readings
    now = 0.0012
    number = 3
    of = M2
    of_what =  of the undersize 0.25
    off = 0.003
    often = 3
    on = 2026-11-25
    one = rear
    operator = Ada
    operator_of = Ada
    operators = Ada, Bo
    option = --stable
    option_for = --answer f2=channel
    other = M1
    other_said = low = 5.997 mm
    out_of_round = 0.005 mm
    output = gauge.rules
    over = 0.002
    overview = mic-50-75
    own = 11e-6 /K
    p = 0.31
    package = python3-venv
    packages = pyusb
    part = crank
    partition = 4 readings
    parts = 10
    path = plan.toml
    payload = 54.012
    percent = 95 %
    permitted = 30
    phase = before
    picture = crank.svg
    pid = 4711
    pitch = 0.5
    place = M2 front 45
    place_words = M2 front 45°
    places = places
    planned = 57.97 mm
    port = /dev/ttyUSB0
    pos = 3
    position = M2 front 45
    positions_measured = 12
    positions_planned = 16
    power = 3.2
    presses = 4
    product = 0007
    profile = number-unit-crlf
    program = 0.4.0
    program_at = 2026-11-25
    quarter = 0.005
    range = 25 mm to 50 mm
    rate = 9600
    raw = 54.012
    reach = 25 mm
    read = read
    reading_note = 4 readings
    readings = 5
    reason = it cannot be read
    reasons = a check failed
    reference = 11.5e-6 /K
    reference_name = stack
    refused = 9600 baud
    registers = 2
    rejected = 12
    remedy = Restore the folder from a copy
    repeat = 2
    repeatability = 0.0006
    repeats = 2
    rescued = sessions/20261125T080000Z-kqwe-rescued
    resolution = 0.001
    result = M2
    rule = simple
    rules = 3
    rows = 24
    said = low = 59.97 mm
    saw = M2
    say = the whole name
    say_command = jbridge resume kqwe
    schema = 1
    sd = 0.0006
    seen = 54.012
    sent = 4
    seq = 17
    serial = A2
    serves_from = 59.72 mm
    session = 20261125T080000Z-kqwe
    settles = a press at a larger size
    share = 12
    show = 59.972 mm
    shown = 54.012
    shows = It shows one turn.
    side = over
    sign = +
    signed_mm = +0.0004
    since = 2026-11-25
    size = 60 mm
    size_count = 3
    size_words = 60 mm
    sizes = 57.97 mm
    skipped = 40
    small = 0.12 µm
    smallest = 59.972
    smallest_at = M2 front 45
    socket = 1-2.3
    soon = a loose plug
    sort = tty
    source = plan.toml
    spread = 0.002
    stack = mains
    stack_size = 60 mm
    stack_u_basis = grade 1
    standard = 59.97 mm to 59.99 mm
    state = used
    stated = 59.97 mm
    station = front
    stations = front, rear
    steepest = M2 45
    step = 0.25
    steps = 12
    still_open = 1
    stint = 2
    stints = 2
    streamed = 54.012 mm
    strerror = No space left on device
    subtract = 0.003
    scaleb = 2.36102
    surroundings = 20 °C
    swapped = it is usb:1209:0007:A2
    synced = 4 ms
    system = Linux
    taken = M2 front 45
    taken_as = , taken as steel
    target = 17
    targets = /dev/ttyUSB0
    terminator = CR
    text = abc
    texts = 'A '
    there = 54.012
    title = USB serial adapter
    together = two readings a place and a finer gauge
    tolerance = 0.02
    top =  to 59.74 mm
    topic = plans
    torn = 12
    torn_bytes = 31
    torn_file = ledger.torn-1
    total = 16
    transport = serial
    travel = 25
    trial = 2
    trials = 3
    tries = 1
    trouble = its history is damaged
    trusted = mains
    turn_words = Ada, second trial
    type = int32
    typed = 54.012 mm
    u = 0.7
    um = 4
    um_text = 0.4
    uncertainty = 0
    undersize = 0.25
    unit = mm
    unit_id = 7
    units = mm
    unlike = journals.csv
    unproven = M2
    use = `--sound` can be heard
    user = ada
    users = minicom (process 4711)
    usual = 59.97 mm
    utc_day = 2026-11-25
    utc_text = 2026-11-25T08:00:00.000000Z
    value = 54.012
    value_words = 54.012 mm
    values = mm, in
    vendor = 1209
    verb = is
    verdict = accepted
    verdicts = accepted
    version = 3.9
    wall = 2 mm
    wanted = 57.97 mm
    warm = , part 23 °C
    was = 20
    ways = join the group dialout
    what = its unit
    what_helps = Free some space or mend the disk
    when = in 12 days,
    where = in socket 1-2
    which = M2/front/45 or M3/front/45
    whose = mains:
    why = a held reading waits
    widest = 3
    width = 4
    window = 0.5
    with_clean_up =  with 0.05 mm of clean-up
    word = low
    words = no reading is held
    words_of = 9600 8N1
    worn =
    wringing = 0.05 µm
    written = journals.csv
    wrong = in
    wrote = listen.toml
    zeros = 2
    _SWAP = ,
    ACCEPTED = accepted
    GOOD_PERCENT = 10
    GRADES = K, 0, 1, 2, AS-1, AS-2
    LEAST_BASELINE = 6
    LEAST_CATEGORIES = 5
    LEAST_PITCH_MM = 0.1
    LIMIT_PERCENT = 30
    MOST_BASELINE = 20
    MOST_PITCH_MM = 2
    MOST_WHOLE = 6
    WHOLE_SIZE = 80
    dof = 9
    looks_like = a keyboard
    own_name = usb:1209:0007:A2
    sep = *
    _NAMES = operators by parts
    GROUP_WORDS = GRIND ALL of the group
    FINEST = 0.0001
    FORMATS = number-crlf, number-unit-crlf
    """.strip().splitlines()
}

# By how the name ends: a length, an uncertainty, a temperature, a time, a count.
BY_ENDING = {
    "_mm": "0.003",
    "_um": "1.2",
    "_c": "21.5",
    "_k": "1.5",
    "_s": "3",
    "_ms": "150",
    "_min": "30",
    "_dof": "9",
    "_no": "2",
    "_low": "59.95 mm",
    "_due": "2026-11-25",
    "_at": "2026-11-25",
    "_readings": "5",
    "_days": "30",
    "_said": "low = 59.97 mm",
    "_bytes": "1048576",
}
