"""The published cases. The wiring facts in the sources are thin: each harness was invented around its case before the
tool was asked about it. Repairs that no fault has today are patterns on the name that such a fault might have.

"Typed" sentences name lamps and controls as the harness file does. What a source says of a lens is typed as the
filament that the words fit best; where that is a choice, `invented` says so.
"""

from __future__ import annotations

from tests.real_cases.telling import Read, RealCase, Repaired, Told

HOLDER_SHORT = r"holder short(ed)?( to (its )?shell)?: {}.*"

CASES: tuple[RealCase, ...] = (
    RealCase(
        "R01", "autox.team.net mgs 1998-07 msg00009", "A",
        "1959 sports roadster; the stop feed goes from a pedal switch to a relay box of eight wires on the bulkhead, "
        "which shares stop and turn filaments; the wire between them was broken inside its insulation; a second wire "
        "laid across worked",
        "relays and contacts within the box, positive earth, no joint in the wire. The source has turning dead at "
        "the rear as well, which this wire does not explain; that is not typed",
        (Told("left rear stop dark, right rear stop dark when brake pedal pressed",
              "no brake lights, I've got to use hand signals"),
         Told("left rear tail normal, right rear tail normal when lamp switch side", "tail lights are all right")),
        (r"repair the \w+ wire brake switch\.54 – left relay\.87a",),
        (Read("ohms brake switch.54 to left relay.87a", "open",
              "battery and bulb across the wire from the stop switch to the relay box: dark"),),
    ),
    RealCase(
        "R03", "oldcarsweekly.com “don't blame Lucas”", "A",
        "1950s roadster, park and turn in one twin-filament lamp at each front corner; both fitted turned round; "
        "turned back, the tell-tale was brighter too",
        "separate rear indicators, thermal flasher with one tell-tale",
        (Told("left front indicator dim flashing slow when lamp switch head, indicator stalk left",
              "front turn signals only surge slow and weak with the headlights on"),
         Told("right front indicator dim flashing slow when lamp switch head, indicator stalk right",
              "same on the other side"),
         Told("left front indicator flashing, left rear indicator normal when indicator stalk left",
              "they flash right with the headlights off, and the back ones are fine"),
         Told("indicator tell-tale dim when lamp switch head, indicator stalk left", "the dash light is weak")),
        (r"turn (left|right) front indicator \+ \1 front park round in its holder",),
    ),
    RealCase(
        "R05", "audifans.com pipermail v6-12v 2005-December 001419", "A",
        "1993 saloon, seven wires through the bend of the boot lid with cracked insulation, touching each other and "
        "the body; instrument fuse, then dash-lamp fuse blow on going into reverse; about 4 in. of each wire "
        "replaced",
        "which seven wires; that the lights were on when the dash-lamp fuse blew; the locks are a pump behind a "
        "relay",
        (Told(None, "the central locking goes off by itself when I shift in or out of reverse"),
         Told("F1 blows when gear reverse", "the instrument fuse blows going into reverse"),
         Told("F2 blows when lamp switch side, gear reverse", "then the dash light fuse went as well")),
        (r"part and repair the .+ wires in the boot lid bend loom", r"repair the \w+ wire S6 – S3",
         r"repair the \w+ wire S7 – S4"),
        (Told(None, "moving the wires where the boot lid bends sets off the locks"),),
    ),
    RealCase(
        "R07", "bigbendfishing.net viewtopic p=92744", "A",
        "boat trailer newly rewired, lamps earth through their mounting; a plastic number-plate bracket between the "
        "right lamp and the frame; without it right",
        "flat four-pin plug, side markers; a converter of diodes on the car, without which a lamp that has lost its "
        "earth would still find one through the car's own stop and turn lamp, and not be dead with the headlamps "
        "on. That another trailer worked is typed as a test lamp at the car's socket",
        (Told("trailer right rear stop dark, trailer right rear tail dark when lamp switch head",
              "with the car's headlights on the right trailer light is dead altogether"),
         Told("trailer right rear stop dim or dark when indicator stalk right",
              "the right trailer light isn't right"),
         Told("trailer left rear stop normal flashing, trailer left rear tail normal when lamp switch head, "
              "indicator stalk left", "the left one is perfect")),
        (r"clean the mounting of trailer right rear", r"clean and remake earth point E7"),
        (Read("test lamp at X1.4 to X1.1 when indicator stalk right with X1 unplugged", "flashing",
              "another trailer on the same car works perfectly"),
         Read("test lamp at X1.2 to X1.1 when lamp switch head with X1 unplugged", "lit", "its tail lights too")),
    ),
    RealCase(
        "R09", "nmia.com/~dgnrg tbs1", "A",
        "motorcycle, electronic flasher unit, wet inside; indicators do not flash, it buzzes; capacitor renewed",
        "the wiring of the indicators",
        (Told("left front indicator does not flash, left rear indicator does not flash when indicator switch left",
              "turn signals don't flash, the flasher just buzzes loudly"),
         Told("right front indicator does not flash, right rear indicator does not flash when indicator switch right",
              "neither side")),
        (r"(renew|repair|dry).* flasher unit",),
        (Read("inspect flasher unit", "found: leads of the capacitor eaten away",
              "opened the flasher: water has eaten the capacitor's leads"),),
    ),
    RealCase(
        "R11", "humanspeakers.com audi taillights", "G",
        "1980s saloons, the rear clusters of both sides on one thin brown earth wire, printed boards; 10–50 ohm in "
        "it; separate earths added",
        "plugs of the clusters, the joint of their earths, a high stop lamp. “Both stop lamps flash” is typed so, "
        "though behind the same lens the tail lamps may be what flashes; “the whole cluster glows” is typed of its "
        "tail lamps",
        (Told("left rear stop faint or dim flashing, right rear stop faint or dim flashing when indicator stalk left",
              "when I signal left both brake lights flash dimly with it"),
         Told("left rear tail faint or dim, right rear tail faint or dim when lamp switch side",
              "with the side lights on the whole cluster glows weakly")),
        (r"repair the \w+ wire S5 – E4", r"remake splice S5", r"clean and remake earth point E4"),
    ),
    RealCase(
        "R13", "meeknet.co.uk e31 boot hinge wiring", "B",
        "coupé; plate, rear fog and boot-lid lamps of each side earth by one brown wire through that side's hinge "
        "loom; parted on the left; left and right earths joined",
        "plugs at the hinges, what else earths there",
        (Told("left lid fog dark, left lid tail dark, left number-plate lamp dark when lamp switch head, fog switch "
              "on",
              "board computer says rear fog failure, and half the lamps on the left of the boot lid are out at "
              "once"),),
        (r"repair the \w+ wire S6 – C2\.3",),
        (Told("right lid fog normal, right lid tail normal, right number-plate lamp normal when lamp switch head, "
              "fog switch on", "the right half works"),),
    ),
    RealCase(
        "R15", "autorestorer.com lighting pt 4", "A",
        "1962 compact car, pressure stop switch in the brake line that leaks current; renewed",
        "stop and turn share a filament, the stop feed is always live",
        (Told("left rear stop faint, right rear stop faint when ignition off",
              "brake lights glow very faintly with my foot off the pedal"),
         Told(None, "the battery goes flat slowly")),
        (r"(repair or )?renew stop switch",),
    ),
    RealCase(
        "R17", "olivertraveltrailers.com profile 4796", "A",
        "travel trailer, all running, marker and tail lamps on one green wire; a roof aerial's screw had pierced it "
        "and touches earth now and then; the circuit was traced by elimination; three weeks without a blown fuse",
        "how the wire runs and where it could be parted for the elimination",
        (Told("F1 blows when lamp switch side",
              "the running light fuse blows as soon as I plug the trailer in, later "
              "only after two days' driving"),
         Told(None, "new plug, no change")),
        (r"repair the \w+ wire X3\.1 – rear roof marker\.feed",),
        (Read("test lamp at X2.3 when lamp switch side with X2 unplugged and new fuse F1", "lit",
              "unplugged in the tongue box a new fuse holds"),
         Read("look left front marker when lamp switch side with X3 unplugged and new fuse F1", "normal",
              "plugged in again, with the joint at the front roof edge apart, it holds too")),
    ),
    RealCase(
        "R19", "ddo2jl.blogspot.com 2013/10", "A",
        "car with converter at the tow bar and small trailer; no tail lamps, clock, ashtray and glove-box lamp, turn "
        "and stop work, the fuse blows again at once; short in the trailer's much mended running-lamp wiring; "
        "rewired",
        "the converter's inside, that the clock is its lamp, where the trailer's wire branches",
        (Told("car left rear tail dark, car right rear tail dark, clock lamp dark, ashtray lamp dark when lamp "
              "switch side", "no tail lights, no clock, no ashtray light"),
         Told("glove box lamp dark when glove box open", "no glove box light"),
         Told("car left rear stop normal, car right rear stop normal when brake pedal pressed",
              "brake lights and indicators work"),
         Told("F1 blows when lamp switch side", "the fuse blows again at once")),
        (r"repair the \w+ wire (X1\.2 – S7|S7 – trailer .+|trailer left rear\.tail – trailer plate lamp\.feed)",
         r".*: (X1\.2 – S7|S7 – trailer .+|trailer left rear\.tail – trailer plate lamp\.feed)"),
        (Read("look car left rear tail when lamp switch side with X1 unplugged and new fuse F1", "normal",
              "trailer unhitched: a new fuse holds"),),
    ),
    RealCase(
        "R21", "lists.antique-tractor.com 2014-November 077905", "A",
        "old tractor, lamp earths through housing and support arm; three faults in a row on the left headlamp: "
        "sealed beam, feed wire at the spade lug, rusty joint of housing and arm",
        "switch, right headlamp and rear lamp. Any of the three is right at first, the last at the end",
        (Told("left headlamp dark when lamp switch head", "left headlight dead"),),
        (r"new lamp: left headlamp", r"repair the \w+ wire S1 – left headlamp\.feed", r"renew the strap E8 – E6",
         r"clean and remake earth point E[68]", r"clean the mounting of left headlamp"),
        (Read("inspect lamp left headlamp", "broken", "the old sealed beam tests bad"),
         Repaired("new lamp: left headlamp"),
         Told("left headlamp dark when lamp switch head", "new one, still dark"),
         Read("inspect S1 to left headlamp.feed", "broken at the lug", "the wire is broken at its spade lug"),
         Repaired("repair the WH wire S1 – left headlamp.feed"),
         Told("left headlamp dark when lamp switch head", "mended, still dark"),
         Read("volts at left headlamp.feed when lamp switch head", "12 V", "12 volts there with the switch on")),
        accepted_after=(r"renew the strap E8 – E6", r"clean and remake earth point E[68]"),
    ),
    RealCase(
        "R23", "jalopnik.com 5327770", "B",
        "1967 small roadster rewired, nine old bulb holders kept, five of them short to their shells; a fuse pops "
        "each time stop, right turn or side lights are switched on",
        "which five; which fuse; what the continuity check read",
        (Told("F2 blows when brake pedal pressed", "a fuse pops every time I brake"),
         Told("F2 blows when indicator switch right", "and when I signal right"),
         Told("F3 blows when lamp switch side", "and with the side lights")),
        (HOLDER_SHORT.format("(left|right) rear (stop|tail|indicator)"),
         HOLDER_SHORT.format("(left|right) front (side|indicator)"), r"holders shorted: several of one age"),
        (Read("ohms left rear.stop to left rear.earth with wires off left rear and lamp left rear stop out",
              "0.2 ohm",
              "continuity from the contact to the shell of the left rear holder, lamp out"),
         Read("ohms right front.indicator to right front.earth with wires off right front and lamp right front "
              "indicator out", "0.1 ohm", "the right front one as well")),
    ),
    RealCase(
        "R25", "classicpolobreadvan.blogspot.com 2020/02", "A",
        "1980s hatchback, left front indicator dead by two faults: about 3 in. of the earth lead missing at the "
        "unit, and a loose feed connection at the bulkhead; rewired, re-seated with a small spark",
        "the plug at the bulkhead. Either is right at first, the feed connection at the end",
        (Told("left front indicator dark when indicator stalk left", "left front indicator dead"),),
        (r"repair the \w+ wire left front indicator\.earth – E2", r"clean or renew way C1\.1"),
        (Read("look left front indicator when indicator stalk left with feed lead from battery.+ to left front "
              "indicator.feed", "dark", "jumper straight to the lamp: still dark"),
         Repaired("repair the BN wire left front indicator.earth – E2"),
         Told("left front indicator dark when indicator stalk left", "earth lead renewed, still dead"),
         Read("test lamp at C1.1' when indicator stalk left", "dark",
              "test lamp dark on the lamp side of the bulkhead"),
         Read("test lamp at C1.1 when indicator stalk left", "flashing", "flashes on the fuse box side")),
        accepted_after=(r"clean or renew way C1\.1",),
    ),
    RealCase(
        "R27", "st-owners.com thread 76260", "B",
        "touring motorcycle, one fuse for instruments, tail, position, hazard; the switch loom pinched between "
        "clutch pipe and frame, black/brown wire rubbed through; blows now and then, when the bars are turned just "
        "so",
        "which wires of that fuse the switch loom holds",
        (Told("F2 sometimes blows when lamp switch position",
              "the fuse for instruments and tail blows now and then, months apart"),),
        (r"repair the BKBN wire S2 – lamp switch\.30",),
        (Told(None, "it blows when the bars are turned just so"),),
    ),
    RealCase(
        "R29", "tabstopva.blogspot.com 2007/05", "A",
        "saloon, right rear turn lamp dark and that side at double rate; taken out and put back it works: poor "
        "contact",
        "everything else",
        (Told("right front indicator flashing fast, right rear indicator dark when indicator stalk right",
              "right indicator goes double speed, the rear one's out"),),
        (r"clean the holder of right rear indicator",),
        (Read("inspect lamp right rear indicator", "nothing", "the bulb is good"),
         Read("wiggle lamp right rear indicator and watch right rear indicator when indicator stalk right",
              "comes on",
              "took the bulb out and put it back: works")),
    ),
    RealCase(
        "R31", "corvairfleet.blogspot.com 2009/11 (headlight failure)", "A",
        "1960s car, dip switch with plug; plug melted by long heating, its dip contact slack; wedged",
        "four headlamps, which way of the plug",
        (Told("left headlamp dip dark, right headlamp dip dark when lamp switch head, dip switch dipped",
              "no low beam either side"),
         Told("left headlamp main normal, right headlamp main normal when lamp switch head, dip switch main",
              "high beam works")),
        (r"clean or renew way C1\.3",),
        (Read("ohms dip switch.56 to dip switch.56b with C1 unplugged", "0.1 ohm", "the switch tests good"),
         Read("wiggle C1 and watch left headlamp dip when lamp switch head", "comes on",
              "twisting the plug makes contact")),
    ),
    RealCase(
        "R33", "cda441.wordpress.com 2016/07", "A",
        "motorcycle, earth lead of the right rear indicator clamped by a wedge inside it; wiggling helps for weeks, "
        "bulb sound; soldered",
        "plugs and the joint of the rear earths",
        (Told("right rear indicator dark, right tell-tale flashing fast when indicator switch right",
              "right rear indicator dead, dash light goes fast"),),
        (r"clean the holder of right rear indicator", r"repair the \w+ wire right rear indicator\.earth – C3\.2"),
        (Read("wiggle right rear indicator and watch right rear indicator when indicator switch right", "comes on",
              "wiggling it helps for weeks"),
         Read("inspect lamp right rear indicator", "nothing", "the bulb is good")),
    ),
    RealCase(
        "R35", "mgb-stuff.org.uk gtmgb", "A",
        "1978 sports coupé, turn and hazard with separate flashers and switches; indicator switch and turn flasher "
        "both at fault; both renewed",
        "plugs, what shares the fuse. Either part, or both, is right",
        (Told("left front indicator dark, left rear indicator dark when indicator switch left",
              "no indicators with the indicator switch"),
         Told("right front indicator dark, right rear indicator dark when indicator switch right", "neither side"),
         Told("left front indicator flashing, left rear indicator flashing, right front indicator flashing, right "
              "rear indicator flashing when hazard switch on", "all of them flash with the hazards")),
        (r"(repair or )?renew indicator switch", r"renew turn flasher"),
    ),
    RealCase(
        "R37", "forum.ih8mud.com 967640", "A",
        "1998 off-road car, right tail lamp dark with a brand-new bulb; voltage at the holder, fuse good, the left "
        "side's bulb lights there; a single-filament bulb was fitted",
        "everything else",
        (Told("right rear tail dark when lamp switch side", "right tail light out, with a brand-new bulb in it"),),
        (r"new lamp: right rear stop \+ right rear tail",),
        (Read("volts at right rear.tail when lamp switch side", "12.2 V", "there's voltage at the holder"),
         Read("inspect F1", "nothing", "fuse is good"),
         Read("look right rear tail when lamp switch side with lamps left rear tail and right rear tail swapped",
              "normal", "the left side's bulb lights up in there")),
    ),
    RealCase(
        "R39", "mg-forum.com mggrounds", "G",
        "1960s–70s car, front side and turn unit on a rubber pad, two feed wires, earth by its screws; a third wire "
        "to the headlamp's earth",
        "that it is the left one, and its turning: its side lamp would still find an earth through the other "
        "filament",
        (Told("left front indicator sometimes dark when indicator stalk left",
              "the left front lamp sometimes works, sometimes not"),),
        (r"clean the mounting of left front", r"clean and remake earth point E2"),
        (Read("volts at left front.side when lamp switch side", "12.2 V", "there's a feed at the holder"),
         Read("inspect lamp left front indicator", "nothing", "bulb's good")),
    ),
    RealCase(
        "R41", "corvairfleet.blogspot.com 2009/11 (conclusions)", "A",
        "1960s rear-engined car, stop and turn share a filament; no blinkers, switch suspected for an hour; earth of "
        "the bulb holder; cleaned and put back",
        "that it is the left rear holder, and that it is complained of at that lamp only",
        (Told("left rear stop does not flash when indicator stalk left",
              "no blinkers"),),
        (r"clean the mounting of left rear", r"clean the holder of left rear stop \+ left rear tail",
         r"clean and remake earth point E3"),
    ),
    RealCase(
        "R43", "classicpolobreadvan.blogspot.com 2020/02", "A",
        "1980s hatchback, right rear lamp and right plate lamp dark: two blown bulbs",
        "everything else",
        (Told("right rear tail dark, right plate lamp dark when lamp switch side",
              "right rear light's out and the right number plate light"),),
        (r"new lamp: right rear tail", r"new lamp: right plate lamp"),
        every=(r"new lamp: right rear tail", r"new lamp: right plate lamp"),
    ),
    RealCase(
        "R45", "carlightblog.com 2018/02", "B",
        "estate car and hired trailer, no trailer lamp at all; plug moved, contact spray: nothing; the socket on "
        "the car rusted and broken, its cap falls in three pieces; new socket",
        "the wiring of car and trailer",
        (Told("trailer left tail dark, trailer right tail dark, trailer plate lamp dark when lamp switch side",
              "not one light on the trailer"),
         Told("trailer left stop dark, trailer right stop dark when brake pedal pressed", "no brake lights on it"),
         Told("trailer left indicator dark when indicator stalk left", "no indicators"),
         Told("trailer right indicator dark when indicator stalk right", "on either side")),
        (r"(renew|repair|clean|dry and clean)( or renew)? (the )?(socket )?X1", r"plug X1 together"),
        (Read("wiggle X1 and watch trailer left tail when lamp switch side", "does not",
              "moved the plug about, sprayed it: nothing"),
         Read("inspect X1", "rusted, the cap falls in three pieces",
              "the socket's rusted and the cap falls to bits")),
    ),
    RealCase(
        "R47", "lists.antique-tractor.com 2014-November 077905", "B",
        "old tractor, rear lamp dark, burns when fed directly; its feed wire is cut off at the seat, the rest "
        "missing",
        "6 V, positive earth, no joint in the wire",
        (Told("rear lamp dark when lamp switch bright", "rear light dead"),),
        (r"repair the \w+ wire S2 – rear lamp\.feed",),
        (Read("look rear lamp when lamp switch bright with feed lead from battery.- to rear lamp.feed", "normal",
              "the lamp burns when I feed it directly"),),
    ),
    RealCase(
        "C01", "dtnpf.com 2019/03/01", "C",
        "tractor work lamp dark, new bulb; a test lamp clipped to body lights on the feed and on both sides of the "
        "bulb; off the tractor, on a battery, the lamp burns; answer: no earth",
        "which work lamp. The second side of the bulb is typed as its earth point",
        (Told("left front work lamp dark when front work switch on", "work light's dead"),
         Read("inspect lamp left front work lamp", "nothing", "new bulb, and it burns on a battery"),
         Read("test lamp at left front work lamp.feed when front work switch on", "lit",
              "test lamp lights on the feed wire"),
         Read("test lamp at left front work lamp.earth when front work switch on", "lit",
              "and on both sides of the bulb")),
        (r"clean the mounting of left front work lamp", r"clean and remake earth point E4"),
    ),
    RealCase(
        "C03", "thespec.com 666967", "C",
        "trailer: left turn on, the right lamp lights partly; right turn fine; answer: earth at the left lamp",
        "a converter of diodes on the car, as in R07; what shares a plug and an earth. “Lights partly” is typed of "
        "the right tail lamp, behind the same lens",
        (Told("trailer right tail faint or dim when indicator stalk left",
              "with the left turn signal on the right trailer light lights up partly"),
         Told("trailer right stop flashing when indicator stalk right", "right turn is fine")),
        (r"repair the \w+ wire trailer left\.earth – E5", r"clean and remake earth point E5",
         r"clean the holder of trailer left stop \+ trailer left tail"),
    ),
    RealCase(
        "C05", "thetruthaboutcars piston slap 2009/09", "C",
        "2001 saloon, tail and dash lamp fuse blows within seconds with the lights on, stop lamps work; answer: lamp "
        "housing warped by heat, holder shorted (maker's recall quoted)",
        "everything else",
        (Told("F1 blows when lamp switch side", "tail and dash light fuse blows a few seconds after I put the lights "
              "on"),
         Told("left rear stop normal, right rear stop normal when brake pedal pressed", "brake lights work")),
        (HOLDER_SHORT.format("(left|right) rear (tail|stop)"),),
    ),
    RealCase(
        "C07", "ftp.team.net triumphs 1996-09 msg00739", "C",
        "hazard switch pulled: indicators stop flashing, no hazard; new switch no change; answer: oxidised contacts",
        "separate hazard flasher, a plug at the switch; its contacts are taken for those that are meant",
        (Told("left front indicator flashing, left rear indicator flashing when indicator stalk left",
              "indicators work"),
         Told("left front indicator dark, left rear indicator dark when indicator stalk left, hazard switch on",
              "pull the hazard switch and they stop"),
         Told("left front indicator dark, left rear indicator dark, right front indicator dark, right rear indicator "
              "dark when hazard switch on", "no hazards"),
         Repaired("repair or renew hazard switch"),
         Told("left front indicator dark, left rear indicator dark, right front indicator dark, right rear indicator "
              "dark when hazard switch on", "new switch, no change")),
        (r"repair or renew hazard switch", r"clean or renew way C1\.[1-3]", r"dry and clean C1"),
    ),
    RealCase(
        "C09", "nsxprime.com 167830", "C",
        "stop lamps stay lit with the pedal up, flat battery; answer: the pad on the pedal arm has crumbled, the "
        "switch stays closed",
        "a high stop lamp, what shares the fuse",
        (Told("left rear stop lit, right rear stop lit, high stop lamp lit when ignition off, brake pedal released",
              "brake lights stay on all the time"),
         Told(None, "flat battery")),
        (r"(repair or )?renew brake switch", r"adjust brake switch"),
    ),
    RealCase(
        "C11", "marinemechanic.com page138", "C",
        "all rear lamps of the trailer flash with either turn signal, no parking lamps; on some cars the car's lamps "
        "flash along; answer: trailer earth (bolted joints of the frame)",
        "a converter of diodes on the car, as in R07; the parts of the frame. “All rear lamps flash” is typed of "
        "the tail lamps, behind the same lenses",
        (Told("trailer left tail flashing, trailer right tail flashing when indicator stalk left",
              "all the trailer's rear lights flash with either signal"),
         Told("trailer left tail flashing, trailer right tail flashing when indicator stalk right", "right as well"),
         Told("trailer left tail dark, trailer right tail dark when lamp switch side", "no parking lights on it")),
        (r"renew the strap E8 – E5", r"clean and remake earth point E[3458]", r"clean or renew way X1\.1",
         r"repair the \w+ wire (E3 – X1\.1|X1\.1 – E4)", r"renew the strap (E3 – X1\.1|X1\.1 – E4)"),
    ),
)

REAL = tuple(c for c in CASES if c.id.startswith("R"))
ANSWERED = tuple(c for c in CASES if c.id.startswith("C"))
