//! The table itself. A line here is a word of the language; nothing else in the project lists words.

use super::shape::Atom::*;
use super::shape::Times::*;
use super::shape::{Atom, Form, Kind, KindSet, KindWords, Naming, Part, Role, Word};
use crate::units::Dimension as D;
use Role as R;

macro_rules! word {
    ($word:literal, many $forms:expr_2021, $says:literal, $example:literal) => {
        Word { word: $word, forms: $forms, repeats: true, says: $says, example: $example }
    };
    ($word:literal, $forms:expr_2021, $says:literal, $example:literal) => {
        Word { word: $word, forms: $forms, repeats: false, says: $says, example: $example }
    };
}

macro_rules! form {
    ([$($head:expr_2021),* $(,)?]) => { Form { head: &[$($head),*], tail: &[] } };
    ([$($head:expr_2021),* $(,)?], [$($tail:expr_2021),* $(,)?]) => { Form { head: &[$($head),*], tail: &[$($tail),*] } };
}

const SPACES: KindSet = KindSet::of(&[Kind::Space]);
const HEATERS: KindSet = KindSet::of(&[Kind::Heater]);
const TANKS: KindSet = KindSet::of(&[Kind::Tank]);
const BATTERIES: KindSet = KindSet::of(&[Kind::Battery]);
const KITS: KindSet = KindSet::of(&[Kind::Kit]);
const TUBES: KindSet = KindSet::of(&[Kind::HoseSheet, Kind::PipeSheet, Kind::DuctSheet, Kind::LineSheet]);
/// What a concession may be granted on.
const ANYTHING: KindSet = KindSet::of(&[
    Kind::Job,
    Kind::Vehicle,
    Kind::Space,
    Kind::Battery,
    Kind::Tank,
    Kind::Heater,
    Kind::Exhaust,
    Kind::CombustionAir,
    Kind::ReturnAir,
    Kind::WarmAir,
    Kind::FuelLine,
    Kind::CoolantLine,
    Kind::Cable,
    Kind::Opening,
    Kind::KeepClear,
    Kind::Alarm,
]);
/// What a tape can lead to by name. What a heater has one of goes by its kind alone.
const MEASURED_TO: KindSet = KindSet::of(&[Kind::Opening, Kind::KeepClear, Kind::Tank, Kind::Cable]);

const TEXT: &[Form] = &[form!([Part(Once, &[Text(R::What)])])];
const TEMPERATURE: &[Form] = &[form!([Part(Once, &[Measure(R::Amount, D::Temperature)])])];
const LENGTH: &[Form] = &[form!([Part(Once, &[Measure(R::Amount, D::Length)])])];
const TIME: &[Form] = &[form!([Part(Once, &[Measure(R::Amount, D::Time)])])];
const VOLUME: &[Form] = &[form!([Part(Once, &[Measure(R::Amount, D::Volume)])])];
const SHARE: &[Form] = &[form!([Part(Once, &[Measure(R::Amount, D::Ratio)])])];
const RESISTANCE: &[Form] = &[form!([Part(Once, &[Measure(R::Amount, D::Resistance)])])];
const FACING: &[Form] = &[form!([Part(Once, &[Direction(R::Facing)])])];
/// `forward 200 mm, left 500 mm, up 420 mm`
const PLACE: &[Form] = &[form!(
    [Part(Once, &[Direction(R::Direction), Measure(R::Distance, D::Length)])],
    [Part(Many, &[Direction(R::Direction), Measure(R::Distance, D::Length)])]
)];
/// `back 800 mm, up 1900 mm`: the direction stands at the line's start, so the first part has none.
const LEG: &[Form] = &[form!(
    [Part(Once, &[Measure(R::Distance, D::Length)])],
    [Part(Many, &[Direction(R::Direction), Measure(R::Distance, D::Length)])]
)];
/// The same where the length may be a blank; a part behind the comma may not.
const OPEN_LEG: &[Form] = &[form!(
    [Part(Once, &[Fillable(R::Distance, D::Length)])],
    [Part(Many, &[Direction(R::Direction), Measure(R::Distance, D::Length)])]
)];
const JOINT: &[Form] = &[
    form!(
        [Part(Once, &[Label(R::What)])],
        [Part(Maybe, &[Measure(R::Resistance, D::Resistance)]), Part(Maybe, &[Flag(R::Fitted, "sealed")])]
    ),
    form!([], [Part(Maybe, &[Measure(R::Resistance, D::Resistance)])]),
];
/// What pipes, hoses, ducts and lines are made of. `physics::tubes` says of each what heat it bears.
pub const TUBE_MATERIALS: &[&str] = &[
    "stainless-steel",
    "stainless",
    "aluminised-steel",
    "steel",
    "cast-iron",
    "galvanised-steel",
    "aluminium",
    "aluminum",
    "copper",
    "brass",
    "aluminium-paper",
    "paper",
    "cardboard",
    "glass-fibre",
    "textile",
    "wood",
    "timber",
    "rubber",
    "epdm",
    "nitrile",
    "nbr",
    "chloroprene",
    "neoprene",
    "fluoro-rubber",
    "fkm",
    "silicone",
    "plastic",
    "polyamide",
    "nylon",
    "pa",
    "polyethylene",
    "pe",
    "polypropylene",
    "pp",
    "pvc",
    "polyurethane",
    "pu",
    "abs",
    "ptfe",
];
/// How their wall is formed.
const TUBE_WALLS: &[&str] = &["corrugated", "wire-wound"];
/// `steel, 24 mm bore, 27 mm outside`, a bare bore, or a data sheet's name.
const TUBE: &[Form] = &[
    form!(
        [
            Part(Once, &[Choice(R::Material, TUBE_MATERIALS)]),
            Part(Once, &[Fillable(R::Bore, D::Length), Literal("bore")])
        ],
        [Part(Maybe, &[Measure(R::Outside, D::Length), Literal("outside")])]
    ),
    form!([Part(Once, &[Choice(R::Material, TUBE_MATERIALS), Fillable(R::Bore, D::Length)])]),
    form!([Part(Once, &[Fillable(R::Bore, D::Length)])]),
    form!([Part(Once, &[FillableName(R::Sheet, TUBES)])]),
];

const LAYERS: Part = Part(Many, &[Label(R::Material), Measure(R::Thickness, D::Length)]);
const DRAIN_HOLE: Word = word!("drain-hole", many LENGTH, "a drain hole at this point; its width", "drain-hole 4 mm");
const LAGGED: Word = word!(
    "lagged",
    many & [form!([], [Part(Maybe, &[Measure(R::Thickness, D::Length)])])],
    "lagged from here on; how thick the lagging is",
    "lagged 10 mm"
);
const BARE: Word = word!("bare", many & [form!([])], "not lagged from here on", "bare");
const MOVING_JOINT: Word = word!(
    "moving-joint",
    many & [form!([Part(Once, &[Label(R::What)])], [Part(Maybe, &[Flag(R::Fitted, "looped")])])],
    "a place where two parts of the vehicle move against each other; `looped` if a loop gives way there",
    "moving-joint tilt-cab, looped"
);
const CLIPS_EVERY: Word = word!("clips-every", LENGTH, "the distance between clips", "clips-every 300 mm");
const TELL_TALES: &[&str] = &["plate", "tell-tale", "shut-down"];

const NOTE: Word =
    word!("note", many TEXT, "anything a reader of the job should know", "note \"agreed with the owner\"");
const AT: Word =
    word!("at", many PLACE, "where it is, from the vehicle's origin", "at forward 200 mm, left 500 mm, up 420 mm");
const SPANS: Word =
    word!("spans", PLACE, "its size, counted from the corner that `at` gives", "spans back 800 mm, up 1900 mm");
const RIDES_ON: Word = word!(
    "rides-on",
    &[form!([Part(Once, &[Label(R::What)])])],
    "the second body of the vehicle that it is fixed to",
    "rides-on upper"
);

const NOTES: &[Word] = &[NOTE];
const PLACED: &[Word] = &[AT, SPANS, RIDES_ON, NOTE];

/// Straight legs.
const LEGS: &[Word] = &[
    word!("forward", many LEG, "a straight leg towards the front", "forward 600 mm"),
    word!("back", many LEG, "a straight leg towards the rear", "back 600 mm"),
    word!("left", many LEG, "a straight leg to the left", "left 450 mm, down 40 mm"),
    word!("right", many LEG, "a straight leg to the right", "right 450 mm"),
    word!("up", many LEG, "a straight leg upwards", "up 300 mm"),
    word!("down", many LEG, "a straight leg downwards", "down 120 mm"),
    word!("nearside", many LEG, "a straight leg towards the kerb side", "nearside 450 mm"),
    word!("offside", many LEG, "a straight leg away from the kerb side", "offside 450 mm"),
];
/// Straight legs whose length may be left for the tool: the shortest that passes.
const OPEN_LEGS: &[Word] = &[
    word!("forward", many OPEN_LEG, "a straight leg towards the front", "forward 600 mm"),
    word!("back", many OPEN_LEG, "a straight leg towards the rear", "back 600 mm"),
    word!("left", many OPEN_LEG, "a straight leg to the left", "left 450 mm, down 40 mm"),
    word!("right", many OPEN_LEG, "a straight leg to the right", "right 450 mm"),
    word!("up", many OPEN_LEG, "a straight leg upwards", "up 300 mm"),
    word!("down", many OPEN_LEG, "a straight leg downwards", "down 120 mm"),
    word!("nearside", many OPEN_LEG, "a straight leg towards the kerb side", "nearside 450 mm"),
    word!("offside", many OPEN_LEG, "a straight leg away from the kerb side", "offside 450 mm"),
];
/// Lengths without a direction, and ends: what every walked route knows besides its legs.
const WALK: &[Word] = &[
    word!(
        "run",
        many & [form!(
            [Part(Once, &[Fillable(R::Distance, D::Length)])],
            [Part(Many, &[Direction(R::Direction), Measure(R::Rise, D::Length)])]
        )],
        "a length in a direction that nobody measured; its net rise or fall, if known",
        "run 2.4 m, up 18 in"
    ),
    word!(
        "bend",
        many & [form!(
            [Part(Once, &[Measure(R::Angle, D::Angle)])],
            [Part(Maybe, &[Literal("radius"), Measure(R::Radius, D::Length)])]
        )],
        "a bend in a `run`; bends between walked legs are counted without it",
        "bend 90°"
    ),
    word!(
        "ends",
        &[
            form!(
                [Part(Once, &[Literal("facing"), Direction(R::Facing)])],
                [Part(Maybe, &[Literal("in"), Name(R::Owner, SPACES)])]
            ),
            form!(
                [Part(Once, &[Literal("in"), Name(R::Owner, SPACES)])],
                [Part(Maybe, &[Literal("facing"), Direction(R::Facing)])]
            ),
            form!(
                [Part(Once, &[Literal("at"), Name(R::What, ENDS_AT)])],
                [Part(Maybe, &[Literal("facing"), Direction(R::Facing)])]
            ),
            form!([Part(Once, &[Literal("here")])]),
        ],
        "where the run ends",
        "ends facing right"
    ),
    AT,
    RIDES_ON,
    NOTE,
];
const ENDS_AT: KindSet =
    KindSet::of(&[Kind::Heater, Kind::Battery, Kind::Tank, Kind::Space, Kind::WarmAir, Kind::FuelLine]);

/// What a run passes through and, of these, what parts the inside from the outside (or may: a `wall`).
pub const PASSED: &[&str] = &[
    "floor",
    "underfloor",
    "under-floor",
    "shelf-and-floor",
    "hull",
    "hull-side",
    "deck",
    "sill",
    "step-box",
    "wheel-arch",
    "firewall",
    "engine-bulkhead",
    "wall",
    "outer-wall",
    "rear-wall",
    "front-wall",
    "side-wall",
    "cabin-side",
    "roof",
    "bulkhead",
    "partition",
    "shelf",
    "locker-side",
    "bench",
    "bunk",
    "cabinet",
    "frame-rail",
];
/// Of these, what lies inside or outside on both its sides.
pub const PASSED_WITHIN: &[&str] =
    &["bulkhead", "partition", "shelf", "locker-side", "bench", "bunk", "cabinet", "frame-rail"];
const PASSAGE: Word = word!(
    "passage",
    many & [form!(
        [Part(Once, &[Choice(R::What, PASSED)])],
        [Part(Maybe, &[Literal("hole"), Measure(R::Bore, D::Length)]), Part(Maybe, &[Flag(R::Sealed, "sealed")])]
    )],
    "a wall or floor that the run passes through, with the hole and its seal",
    "passage floor, hole 30 mm, sealed"
);
const CLAMP: Word = word!("clamp", many JOINT, "a clamp, and where it is", "clamp under-floor");
const JOINT_WORD: Word = word!("joint", many JOINT, "a joint, and where it is", "joint under-floor");
const SILENCER: Word = word!(
    "silencer",
    many & [form!([], [Part(Maybe, &[Measure(R::Distance, D::Length)]), Part(Maybe, &[Label(R::What)])])],
    "a silencer; its length",
    "silencer 250 mm"
);

const PIPE: Word =
    word!("pipe", many TUBE, "rigid or flexible metal pipe from here on", "pipe steel, 24 mm bore, 27 mm outside");
const HOSE: Word = word!("hose", many TUBE, "hose from here on", "hose plastic, 25 mm bore");
const DUCT: Word = word!("duct", many TUBE, "air duct from here on", "duct 60 mm");
const LINE: Word = word!("line", many TUBE, "fuel line from here on; its bore", "line 2.2 mm");

/// What an exhaust's open end is measured from, and its pipe.
const END_MEASURED: &[&str] = &["combustion-air", "return-air", "opening", "fuel-line", "keep-clear", "tank", "cable"];
const PIPE_MEASURED: &[&str] = &["fuel-line", "keep-clear", "tank", "cable"];
const INTAKE_MEASURED: &[&str] = &["exhaust", "keep-clear"];
const INLET_MEASURED: &[&str] = &["exhaust"];
/// `aside 400 mm`
const ASIDE: Part = Part(Maybe, &[Literal("aside"), Measure(R::Aside, D::Length)]);
const COVERED: Part = Part(Maybe, &[Flag(R::Fitted, "covered")]);

const EXHAUST: &[Word] = &[
    PIPE,
    HOSE,
    DRAIN_HOLE,
    word!(
        "trap",
        many & [form!([], [Part(Maybe, &[Label(R::What)])])],
        "a trap that keeps condensate or sea water out of the heater",
        "trap"
    ),
    SILENCER,
    PASSAGE,
    CLAMP,
    JOINT_WORD,
    LAGGED,
    BARE,
    word!("shield", many JOINT, "a heat shield along the last leg", "shield brake-side"),
    word!(
        "measured",
        many & [
            form!(
                [Part(
                    Once,
                    &[
                        Measure(R::Distance, D::Length),
                        Literal("to"),
                        Choice(R::By, END_MEASURED),
                        Literal("of"),
                        Name(R::Owner, HEATERS)
                    ]
                )],
                [ASIDE]
            ),
            form!(
                [Part(
                    Once,
                    &[
                        Measure(R::Distance, D::Length),
                        Literal("to"),
                        Choice(R::By, END_MEASURED),
                        Name(R::What, MEASURED_TO),
                        Literal("of"),
                        Name(R::Owner, HEATERS)
                    ]
                )],
                [ASIDE]
            ),
            form!(
                [Part(
                    Once,
                    &[
                        Measure(R::Distance, D::Length),
                        Literal("to"),
                        Choice(R::By, END_MEASURED),
                        Name(R::What, MEASURED_TO)
                    ]
                )],
                [ASIDE]
            ),
            form!(
                [Part(Once, &[Measure(R::Distance, D::Length), Literal("to"), Choice(R::By, END_MEASURED)])],
                [ASIDE]
            ),
            form!(
                [Part(
                    Once,
                    &[
                        Measure(R::Distance, D::Length),
                        Literal("from"),
                        Literal("pipe"),
                        Literal("to"),
                        Choice(R::By, PIPE_MEASURED),
                        Literal("of"),
                        Name(R::Owner, HEATERS)
                    ]
                )],
                [COVERED]
            ),
            form!(
                [Part(
                    Once,
                    &[
                        Measure(R::Distance, D::Length),
                        Literal("from"),
                        Literal("pipe"),
                        Literal("to"),
                        Choice(R::By, PIPE_MEASURED),
                        Name(R::What, MEASURED_TO),
                        Literal("of"),
                        Name(R::Owner, HEATERS)
                    ]
                )],
                [COVERED]
            ),
            form!(
                [Part(
                    Once,
                    &[
                        Measure(R::Distance, D::Length),
                        Literal("from"),
                        Literal("pipe"),
                        Literal("to"),
                        Choice(R::By, PIPE_MEASURED),
                        Name(R::What, MEASURED_TO)
                    ]
                )],
                [COVERED]
            ),
            form!(
                [Part(
                    Once,
                    &[
                        Measure(R::Distance, D::Length),
                        Literal("from"),
                        Literal("pipe"),
                        Literal("to"),
                        Choice(R::By, PIPE_MEASURED)
                    ]
                )],
                [COVERED]
            ),
            form!([Part(
                Once,
                &[Measure(R::Distance, D::Length), Choice(R::Behaviour, &["past", "inside"]), Literal("edge")]
            )]),
            ABOVE,
        ],
        "a distance taken by tape in a straight line, from the open end (or `from pipe`: where the pipe comes nearest); how far the end lies past the edge of the vehicle; or how high it is",
        "measured 620 mm to combustion-air"
    ),
];
/// How high the open end is, taken by tape.
const ABOVE: Form = form!([Part(
    Once,
    &[Measure(R::Distance, D::Length), Literal("above"), Choice(R::Level, &["ground", "waterline"])]
)]);
const COMBUSTION_AIR: &[Word] = &[
    HOSE,
    PIPE,
    DRAIN_HOLE,
    SILENCER,
    PASSAGE,
    CLAMP,
    JOINT_WORD,
    word!(
        "measured",
        many & [
            form!([Part(
                Once,
                &[
                    Measure(R::Distance, D::Length),
                    Literal("to"),
                    Choice(R::By, INTAKE_MEASURED),
                    Literal("of"),
                    Name(R::Owner, HEATERS)
                ]
            )]),
            form!([Part(
                Once,
                &[
                    Measure(R::Distance, D::Length),
                    Literal("to"),
                    Choice(R::By, INTAKE_MEASURED),
                    Name(R::What, MEASURED_TO),
                    Literal("of"),
                    Name(R::Owner, HEATERS)
                ]
            )]),
            form!([Part(
                Once,
                &[
                    Measure(R::Distance, D::Length),
                    Literal("to"),
                    Choice(R::By, INTAKE_MEASURED),
                    Name(R::What, MEASURED_TO)
                ]
            )]),
            form!([Part(Once, &[Measure(R::Distance, D::Length), Literal("to"), Choice(R::By, INTAKE_MEASURED)])]),
            ABOVE,
        ],
        "a distance taken by tape in a straight line, from the open end; or how high that is",
        "measured 620 mm to exhaust"
    ),
];
const RETURN_AIR: &[Word] = &[
    DUCT,
    HOSE,
    word!(
        "draws",
        &[
            form!(
                [Part(Once, &[Literal("at"), Literal("heater")])],
                [Part(Maybe, &[Literal("clear"), Measure(R::Distance, D::Length)])]
            ),
            form!([Part(Once, &[Literal("from"), Choice(R::What, &["outside"])])]),
        ],
        "how the heater draws its air without a duct: at its open inlet, with the free space before it, or from \
         outside",
        "draws at heater, clear 80 mm"
    ),
    word!(
        "grille",
        many & [form!(
            [],
            [
                Part(Maybe, &[Measure(R::Area, D::Area)]),
                Part(Maybe, &[Literal("clear"), Measure(R::Distance, D::Length)]),
                Part(Maybe, &[Label(R::What)])
            ]
        )],
        "a grille; its free area, and the free space before it",
        "grille 40 cm², clear 100 mm"
    ),
    word!(
        "mixes",
        many & [form!(
            [Part(Once, &[Measure(R::Amount, D::Ratio)]), Part(Once, &[Measure(R::Distance, D::Temperature)])],
            [Part(Maybe, &[Text(R::What)])]
        )],
        "the share of the return air that comes from another place, and how warm that place is",
        "mixes 20 %, 5 °C, footwell"
    ),
    PASSAGE,
    JOINT_WORD,
    word!(
        "measured",
        many & [
            form!([Part(
                Once,
                &[
                    Measure(R::Distance, D::Length),
                    Literal("to"),
                    Choice(R::By, INLET_MEASURED),
                    Literal("of"),
                    Name(R::Owner, HEATERS)
                ]
            )]),
            form!([Part(Once, &[Measure(R::Distance, D::Length), Literal("to"), Choice(R::By, INLET_MEASURED)])]),
        ],
        "a distance taken by tape in a straight line, from where the air comes in",
        "measured 1.4 m to exhaust"
    ),
];
const WARM_AIR: &[Word] = &[
    word!(
        "from",
        &[form!([Part(Once, &[Name(R::What, KindSet::of(&[Kind::WarmAir]))])])],
        "the tee at which this run starts",
        "from main.cab"
    ),
    DUCT,
    HOSE,
    word!(
        "tee",
        many & [form!([Part(Once, &[Label(R::What)])], [Part(Maybe, &[Measure(R::Angle, D::Angle)])])],
        "a tee at which a branch starts; the angle at which the branch turns off",
        "tee cab, 45°"
    ),
    word!(
        "outlet",
        many & [form!(
            [Part(Once, &[Label(R::What)])],
            [
                Part(Maybe, &[Flag(R::Closable, "closable")]),
                Part(Maybe, &[Literal("facing"), Direction(R::Facing)]),
                Part(Maybe, &[Literal("wants"), Measure(R::Share, D::Ratio)]),
                Part(Maybe, &[Literal("in"), Name(R::Owner, SPACES)])
            ]
        )],
        "an outlet; the share of the air that it should get; where the walk stops, it ends the run",
        "outlet shelves, closable, wants 40 %"
    ),
    LAGGED,
    BARE,
    PASSAGE,
    JOINT_WORD,
];
/// Filters of a fuel line: the first two keep back dirt, the others water.
const FILTERS: &[&str] = &["strainer", "fine", "water-trap", "water-separator"];
const FUEL_LINE: &[Word] = &[
    word!(
        "from",
        &[
            form!([Part(Once, &[Name(R::What, TANKS)])], [Part(Maybe, &[Literal("by"), Choice(R::By, PICKUPS)])]),
            form!([Part(Once, &[Name(R::What, TANKS), Literal("by"), Choice(R::By, PICKUPS)])])
        ],
        "the tank that it draws from, and how",
        "from main by standpipe"
    ),
    LINE,
    HOSE,
    word!(
        "pump",
        many & [
            form!(
                [Part(Once, &[Literal("outlet"), Direction(R::Facing), Measure(R::Angle, D::Angle)])],
                [Part(Maybe, &[Flag(R::Fitted, "soft-mounted")])]
            ),
            form!([Part(Once, &[Literal("level")])], [Part(Maybe, &[Flag(R::Fitted, "soft-mounted")])]),
        ],
        "the dosing pump; its tilt from the horizontal, with the outlet end up or down",
        "pump outlet up 20°"
    ),
    word!(
        "filter",
        many & [form!([], [Part(Maybe, &[Choice(R::What, FILTERS)])])],
        "a filter, and what it keeps back; if not stated, dirt",
        "filter strainer"
    ),
    word!("valve", many & [form!([], [Part(Maybe, &[Label(R::What)])])], "a shut-off valve", "valve"),
    word!(
        "sleeve",
        many & [form!([Part(Once, &[Measure(R::Amount, D::Length)])], [Part(Maybe, &[Flag(R::Fitted, "butted")])])],
        "a rubber sleeve over a joint; its length, and whether the ends of the line touch inside it",
        "sleeve 50 mm, butted"
    ),
    MOVING_JOINT,
    CLIPS_EVERY,
    PASSAGE,
    JOINT_WORD,
    CLAMP,
];
const PICKUPS: &[&str] = &["standpipe", "tee", "sender", "plug"];
const COOLANT_LINE: &[Word] = &[
    HOSE,
    PIPE,
    word!(
        "pump",
        many & [form!([], [Part(Maybe, &[Measure(R::Flow, D::VolumeFlow)]), Part(Maybe, &[Label(R::What)])])],
        "a circulating pump; the flow that it keeps up in this loop",
        "pump 12 L/min"
    ),
    word!(
        "warms",
        many & [form!([Part(Once, &[Label(R::What)])], [Part(Maybe, &[Measure(R::Amount, D::Power)])])],
        "what the coolant warms on its way, and how much heat that takes",
        "warms engine, 3 kW"
    ),
    MOVING_JOINT,
    word!("bleed", many & [form!([], [Part(Maybe, &[Label(R::What)])])], "a bleed point", "bleed"),
    JOINT_WORD,
    PASSAGE,
];
const CABLE: &[Word] = &[
    word!(
        "from",
        &[form!([Part(Once, &[Name(R::What, BATTERIES)])])],
        "the battery at which the cable starts",
        "from house"
    ),
    word!(
        "size",
        many & [
            form!([Part(Once, &[Fillable(R::Amount, D::Conductor)])]),
            form!([Part(Once, &[FillableName(R::Sheet, KindSet::of(&[Kind::CableSheet]))])]),
        ],
        "conductor size from here on",
        "size 4 mm²"
    ),
    word!(
        "fuse",
        many & [
            form!(
                [Part(Once, &[Fillable(R::Current, D::Current)])],
                [
                    Part(Maybe, &[Choice(R::What, FUSE_TYPES)]),
                    Part(Maybe, &[Literal("holder"), Measure(R::Holder, D::Current)]),
                    Part(Maybe, &[Measure(R::Resistance, D::Resistance)])
                ]
            ),
            form!([Part(Once, &[FillableName(R::Sheet, KindSet::of(&[Kind::FuseSheet]))])]),
        ],
        "a fuse at this point; its rating, and the current that its holder is made for",
        "fuse 20 A, holder 30 A"
    ),
    word!(
        "switch",
        many & [form!(
            [Part(
                Once,
                &[Choice(R::What, &["isolator", "master-switch", "ignition", "relay", "battery-saver", "load-output"])]
            )],
            [Part(Maybe, &[Measure(R::Resistance, D::Resistance)])]
        )],
        "something at this point that can cut the feed",
        "switch isolator"
    ),
    word!(
        "joint",
        many & [
            form!(
                [Part(Once, &[Label(R::What)])],
                [
                    Part(Maybe, &[Measure(R::Resistance, D::Resistance)]),
                    Part(Maybe, &[Flag(R::Fitted, "sealed")]),
                    Part(Maybe, &[Choice(R::Closable, &["indoors", "in-spray"])])
                ]
            ),
            form!([], [Part(Maybe, &[Measure(R::Resistance, D::Resistance)])]),
        ],
        "a joint, crimp or connector at this point; its resistance; where its height is not known, whether spray reaches it",
        "joint plug, 5 mΩ, indoors"
    ),
    word!(
        "harness",
        &[form!([Part(Once, &[Label(R::What)])])],
        "the branch of the supplied harness that this cable is, by its name on the heater's data sheet",
        "harness pump-lead"
    ),
    word!(
        "carries",
        &[form!([Part(Once, &[Measure(R::Amount, D::Current)])])],
        "its current, if no stage of the heater states it",
        "carries 1.5 A"
    ),
    word!(
        "return",
        &[form!([Part(Once, &[Choice(R::What, &["wire", "chassis"])])])],
        "how the current comes back: by a second conductor of the same size, or by the chassis",
        "return chassis"
    ),
    word!("insulation", TEMPERATURE, "the highest temperature that its insulation is rated for", "insulation 105 °C"),
    word!(
        "sheathed",
        &[form!([])],
        "between battery and fuse it lies in a sheath, a conduit or an enclosed box all the way",
        "sheathed"
    ),
    word!(
        "bundled",
        &[form!([Part(Once, &[Count(R::Count)])])],
        "how many loaded conductors lie together",
        "bundled 4"
    ),
    word!("ambient", TEMPERATURE, "the warmest air around it", "ambient 50 °C"),
    MOVING_JOINT,
    CLIPS_EVERY,
    PASSAGE,
];
const FUSE_TYPES: &[&str] = &["blade", "strip", "glass", "bolted"];

const JOB: &[Word] = &[
    word!("number", TEXT, "the job's number", "number FL-0147"),
    word!(
        "design-cold",
        TEMPERATURE,
        "the lowest temperature outside at which the heater must work",
        "design-cold -25 °C"
    ),
    word!(
        "design-hot",
        TEMPERATURE,
        "the highest temperature outside that the install must survive",
        "design-hot 40 °C"
    ),
    word!(
        "mild-night",
        TEMPERATURE,
        "the temperature outside on a mild night, when the heater runs at its lowest",
        "mild-night 8 °C"
    ),
    word!("altitude", LENGTH, "how high above the sea it is used", "altitude 0 m .. 620 m"),
    word!("runs-for", TIME, "how long the heater runs at a stretch", "runs-for 9 h"),
    word!("snow-depth", LENGTH, "how deep snow, water or mud may lie where the heater runs", "snow-depth 300 mm"),
    word!(
        "used-while",
        many & [form!([Part(Once, &[Choice(R::What, &["parked", "driving", "working"])])])],
        "when the heater runs: parked, on the road, or at work",
        "used-while parked"
    ),
    word!("drawn-by", TEXT, "who wrote the job", "drawn-by \"drawing office\""),
    word!("drawn-on", &[form!([Part(Once, &[Date(R::What)])])], "when it was written", "drawn-on 2026-11-02"),
    NOTE,
];
const VEHICLE: &[Word] = &[
    word!(
        "type",
        &[form!([Part(
            Once,
            &[Choice(
                R::What,
                &["van", "truck", "tractor-unit", "bus", "motor-caravan", "trailer", "machine", "boat", "shelter"]
            )]
        )])],
        "what it is",
        "type van"
    ),
    word!("supply", &[form!([Part(Once, &[Measure(R::Amount, D::Voltage)])])], "its electrical system", "supply 12 V"),
    word!(
        "rules",
        many & [form!([Part(Once, &[Choice(R::What, &["un-r122", "us-49cfr393", "adr", "boat", "none"])])])],
        "a body of rules that the vehicle falls under",
        "rules un-r122"
    ),
    word!(
        "origin",
        TEXT,
        "where the axes meet, in words for people; if not stated, on the ground below the middle of the front axle",
        "origin \"floor, middle of the bulkhead\""
    ),
    word!(
        "up-from",
        &[form!([Part(Once, &[Choice(R::What, &["ground", "floor"])])])],
        "the level that heights are measured from; if not stated, the ground",
        "up-from ground"
    ),
    word!(
        "traffic",
        &[form!([Part(Once, &[Choice(R::What, &["keeps-left", "keeps-right"])])])],
        "the side of the road it drives on, for nearside and offside",
        "traffic keeps-left"
    ),
    word!(
        "second-body",
        &[form!([Part(Once, &[Label(R::What)])])],
        "a body with axes of its own, such as a slewing upper",
        "second-body upper"
    ),
    word!(
        "second-body-at",
        PLACE,
        "a corner of the second body's outline, in that body's axes",
        "second-body-at forward 1.2 m, left 1.3 m, up 1 m"
    ),
    word!(
        "second-body-spans",
        PLACE,
        "the size of the second body's outline from that corner, in that body's axes",
        "second-body-spans back 3.6 m, right 2.6 m, up 2.1 m"
    ),
    word!(
        "goods",
        &[form!([Part(Once, &[Choice(R::What, &["ex-ii", "ex-iii", "at", "fl", "none"])])])],
        "the designation of a vehicle approved for dangerous goods",
        "goods fl"
    ),
    word!(
        "seats",
        &[form!([Part(Once, &[Count(R::Count)])])],
        "how many seats it has, the driver's included",
        "seats 17"
    ),
    word!("waterline", LENGTH, "the height of a boat's waterline, in the boat's axes", "waterline 400 mm"),
    word!(
        "floor-height",
        LENGTH,
        "the height of the floor, in the vehicle's axes; with `up-from floor`, how high the floor lies above the ground",
        "floor-height 620 mm"
    ),
    word!(
        "looked-for",
        many & [form!([Part(Once, &[Choice(R::What, LOOKED_FOR)])], [Part(Many, &[Choice(R::What, LOOKED_FOR)])])],
        "what was looked for around the heater and its pipes, and written down in full: of these, what is not written is \
         not there. Nobody can judge an exhaust against a window that is not written",
        "looked-for openings, brake-lines, fuel-lines"
    ),
];
/// The kinds of thing that distances are judged to: openings, tanks, cables, batteries, and what a keep-clear can be.
const LOOKED_FOR: &[&str] = &[
    "openings",
    "brake-lines",
    "fuel-lines",
    "tanks",
    "cables",
    "batteries",
    "tyres",
    "air-springs",
    "plastic",
    "timber",
    "people",
];
/// Parts of a space's skin. Heat leaves upwards by a roof, downwards by a floor, sideways by the others; `all` is all round.
pub const SURFACES: &[&str] = &["walls", "wall", "door", "roof", "floor", "glass", "all"];
const SPACE: &[Word] = &[
    word!(
        "use",
        &[form!([Part(Once, &[Choice(R::What, &["seated", "sleeping", "driving", "load", "working", "plant"])])])],
        "what people do there",
        "use seated"
    ),
    word!("wanted", TEMPERATURE, "the temperature wanted", "wanted 19 °C"),
    word!("volume", VOLUME, "the volume of air in it", "volume 17.5 m³"),
    word!(
        "surface",
        many & [form!(
            [Part(Once, &[Label(R::What)]), Part(Once, &[Measure(R::Area, D::Area)])],
            [LAYERS, Part(Maybe, &[Literal("as"), Choice(R::Arrangement, SURFACES)])]
        )],
        "a surface; its area, and its layers from inside to outside; `as` says what part of the skin it is, where its \
         name is none of those",
        "surface walls, 21 m², plywood 4 mm, pe-foam 19 mm, steel 0.9 mm"
    ),
    word!(
        "ribs",
        many & [form!([Part(Once, &[Label(R::What)]), Part(Once, &[Measure(R::Share, D::Ratio)])], [LAYERS])],
        "the share of a surface that is ribs; their layers from inside to outside",
        "ribs walls, 8 %, plywood 4 mm, pine 19 mm, steel 0.9 mm"
    ),
    word!(
        "air-changes",
        &[form!(
            [Part(Once, &[Measure(R::Amount, D::Rate)])],
            [Part(Maybe, &[Literal("counted"), Choice(R::By, &["inside", "outside"])])]
        )],
        "how many times an hour leaks change its air; whether that air is counted as inside or outside air",
        "air-changes 1.2 /h, counted inside"
    ),
    word!(
        "contents",
        &[form!([Part(Once, &[Measure(R::Amount, D::Mass)])])],
        "the weight of what stands in the space and must be warmed too",
        "contents 120 kg"
    ),
    word!(
        "starts-at",
        TEMPERATURE,
        "how warm the space is when the heater starts; if not stated, design cold",
        "starts-at 5 °C"
    ),
    word!("heads-at", many PLACE, "where the head of somebody who sleeps in the space lies", "heads-at back 600 mm, left 300 mm, up 1200 mm"),
    word!(
        "joined-to",
        many & [form!(
            [Part(Once, &[Name(R::What, SPACES)])],
            [Part(Maybe, &[Literal("by"), Choice(R::By, &["curtain", "door", "opening", "hatch"])])]
        )],
        "another space that shares its air with this one",
        "joined-to cab, by curtain"
    ),
    word!("people", &[form!([Part(Once, &[Count(R::Count)])])], "how many people are in it", "people 2"),
];
const BATTERY: &[Word] = &[
    word!(
        "made-of",
        &[
            form!(
                [Part(
                    Once,
                    &[Count(R::Count), Literal("x"), Measure(R::Voltage, D::Voltage), Measure(R::Charge, D::Charge)]
                )],
                [Part(Maybe, &[Literal("in"), Choice(R::Arrangement, &["parallel", "series"])])]
            ),
            form!([Part(Once, &[Measure(R::Voltage, D::Voltage), Measure(R::Charge, D::Charge)])]),
        ],
        "its blocks, with their voltage and capacity, and how they are joined",
        "made-of 2 x 12 V 95 Ah, in parallel"
    ),
    word!(
        "type",
        &[form!([Part(Once, &[Choice(R::What, &["AGM", "gel", "flooded", "EFB", "LiFePO4"])])])],
        "the type of the battery",
        "type AGM"
    ),
    word!("charge", SHARE, "its state of charge when the heater starts", "charge 80 %"),
    word!(
        "temperature",
        TEMPERATURE,
        "the battery's own temperature on the coldest morning; if not stated, design cold",
        "temperature -15 °C"
    ),
    word!(
        "internal-resistance",
        RESISTANCE,
        "internal resistance of the whole battery at 25 °C",
        "internal-resistance 4 mΩ"
    ),
    word!(
        "other-load",
        many & [form!([Part(Once, &[Measure(R::Amount, D::Current)])], [Part(Maybe, &[Label(R::What)])])],
        "a current that another load draws all the time",
        "other-load 1.2 A, fridge"
    ),
    word!("keep", SHARE, "the share of its charge that must be left in the morning", "keep 50 %"),
    word!(
        "charged-by",
        many & [form!(
            [Part(Once, &[Choice(R::What, &["alternator", "mains", "solar", "nothing"])])],
            [Part(Maybe, &[Measure(R::Current, D::Current)])]
        )],
        "what charges it, and with what current",
        "charged-by alternator, 25 A"
    ),
    word!(
        "read-by",
        &[form!([Part(Once, &[Choice(R::What, &["count", "voltage"])])])],
        "how its charge is known: by counting what goes in and out, or by its voltage",
        "read-by count"
    ),
    word!("warmed", &[form!([])], "the battery is heated before it is charged in frost", "warmed"),
    word!(
        "cuts-below",
        &[form!([Part(Once, &[Measure(R::Amount, D::Voltage)])])],
        "the voltage at which its management, or a battery saver, cuts the load off",
        "cuts-below 11 V"
    ),
    word!(
        "cranks",
        &[form!([Part(Once, &[Choice(R::What, &["engine", "nothing"])])])],
        "whether it also cranks the engine",
        "cranks nothing"
    ),
];
/// Grades of diesel: EN 590's classes and its usual seasons, ASTM D975's grades, and what is blended or made otherwise.
/// `physics::fuel` says of each what it means.
pub const DIESEL_GRADES: &[&str] = &[
    "summer",
    "transition",
    "winter",
    "arctic",
    "class-A",
    "class-B",
    "class-C",
    "class-D",
    "class-E",
    "class-F",
    "class-0",
    "class-1",
    "class-2",
    "class-3",
    "class-4",
    "winter-0",
    "winter-1",
    "winter-2",
    "winter-3",
    "winter-4",
    "arctic-0",
    "arctic-1",
    "arctic-2",
    "arctic-3",
    "arctic-4",
    "no-1",
    "no-2",
    "b5",
    "b7",
    "b10",
    "b20",
    "b30",
    "b100",
    "fame",
    "hvo",
    "hvo100",
    "xtl",
    "gtl",
];
/// Of these, the ones whose name says nothing of cold: a class may follow.
pub const DIESEL_BLENDS: &[&str] = &["b5", "b7", "b10", "b20", "b30", "b100", "fame", "hvo", "hvo100", "xtl", "gtl"];
/// The classes of cold that may follow.
pub const COLD_CLASSES: &[&str] = &[
    "class-A", "class-B", "class-C", "class-D", "class-E", "class-F", "class-0", "class-1", "class-2", "class-3",
    "class-4", "winter-0", "winter-1", "winter-2", "winter-3", "winter-4", "arctic-0", "arctic-1", "arctic-2",
    "arctic-3", "arctic-4",
];
/// Grades of petrol, EN 228 (from memory): the seasons' volatility classes, and 5 or 10 % of ethanol. No rule judges by them.
pub const PETROL_GRADES: &[&str] = &["summer", "winter", "e5", "e10"];
const CLOUD_POINT: &[Atom] = &[Literal("cloud"), Measure(R::Amount, D::Temperature)];
const TANK: &[Word] = &[
    word!(
        "fuel",
        &[
            form!(
                [Part(Once, &[Choice(R::What, &["diesel"]), Choice(R::By, DIESEL_BLENDS)])],
                [Part(Maybe, &[Choice(R::Behaviour, COLD_CLASSES)]), Part(Maybe, CLOUD_POINT)]
            ),
            form!(
                [Part(Once, &[Choice(R::What, &["diesel"]), Choice(R::By, DIESEL_GRADES)])],
                [Part(Maybe, CLOUD_POINT)]
            ),
            form!([Part(Once, &[Choice(R::What, &["petrol"]), Choice(R::By, PETROL_GRADES)])]),
            form!([Part(Once, &[Choice(R::What, &["diesel", "petrol"])])])
        ],
        "the fuel and its grade; for a blend, its class of cold; its cloud point, where its papers state it",
        "fuel diesel winter-1"
    ),
    word!("holds", VOLUME, "how much it holds", "holds 75 L"),
    word!("reserve", VOLUME, "the fuel that stays below the heater's pickup", "reserve 12 L"),
    word!(
        "feeds",
        &[form!([Part(Once, &[Choice(R::What, &["engine", "heater"])])])],
        "whether it is the engine's tank or the heater's own",
        "feeds engine"
    ),
    word!("depth", LENGTH, "its inside height", "depth 380 mm"),
    word!(
        "standpipe-end",
        LENGTH,
        "the height above the tank's floor at which the heater's standpipe ends",
        "standpipe-end 60 mm"
    ),
    word!(
        "engine-pickup",
        LENGTH,
        "the height above the tank's floor at which the engine's own pickup ends",
        "engine-pickup 25 mm"
    ),
    word!(
        "filler",
        many & [form!([Part(Once, &[Choice(R::What, &["outside", "inside", "flame-trap", "sealed-cap"])])])],
        "where its filler is, and what closes it",
        "filler outside"
    ),
    word!(
        "notice",
        many & [form!([Part(Once, &[Choice(R::What, &["refuelling", "fuel-kind"])])])],
        "a notice at its filler: heater off before refuelling, or the kind of fuel",
        "notice refuelling"
    ),
];
const HEATER: &[Word] = &[
    word!(
        "datasheet",
        &[form!([Part(Once, &[FillableName(R::Sheet, KindSet::of(&[Kind::HeaterSheet]))])])],
        "its data sheet",
        "datasheet air-4"
    ),
    word!(
        "in",
        &[form!([Part(Once, &[Literal("outside")])]), form!([Part(Once, &[Name(R::What, SPACES)])])],
        "the space it stands in, or outside",
        "in reading-room"
    ),
    word!(
        "heats",
        many & [form!([Part(Once, &[Name(R::What, SPACES)])])],
        "a space that it heats",
        "heats reading-room"
    ),
    word!("warm-end", FACING, "the direction its warm-air end faces", "warm-end forward"),
    word!(
        "fitted-on",
        &[form!([Part(Once, &[Choice(R::What, &["floor", "wall", "ceiling"])])])],
        "what it is fitted on",
        "fitted-on floor"
    ),
    word!(
        "sensor",
        &[form!([Part(Once, &[Literal("in"), Name(R::Owner, SPACES)])]), form!([Part(Once, &[Literal("return-air")])]),],
        "what its controller senses: the air that the heater draws in, or a sensor in a space",
        "sensor return-air"
    ),
    word!("sensor-at", PLACE, "where the sensor in the space is", "sensor-at back 1500 mm, left 300 mm, up 1400 mm"),
    word!(
        "starts-by",
        many & [form!([Part(Once, &[Choice(R::What, &["hand", "timer", "remote", "thermostat"])])])],
        "what can start it",
        "starts-by hand"
    ),
    word!(
        "tilt",
        &[form!([Part(Once, &[Measure(R::Amount, D::Angle)])])],
        "how far it leans from upright, or from level along its length",
        "tilt 5°"
    ),
    word!("glow-pin-room", LENGTH, "the free space for drawing out its glow pin", "glow-pin-room 180 mm"),
    word!("enclosed", &[form!([])], "it stands in a housing that is sealed against the space for people", "enclosed"),
    word!(
        "notice",
        many & [form!([Part(Once, &[Choice(R::What, TELL_TALES)])])],
        "a notice or sign that is fitted: its plate, readable as fitted; a tell-tale; how to shut the heater down",
        "notice tell-tale"
    ),
    PASSAGE,
];
const OPENING: &[Word] = &[
    word!(
        "kind",
        &[form!([Part(
            Once,
            &[Choice(
                R::What,
                &["door", "window", "roof-hatch", "ventilator", "air-inlet", "tail-lift", "service-hatch"]
            )]
        )])],
        "what sort of opening it is",
        "kind door"
    ),
    word!("into", &[form!([Part(Once, &[Name(R::What, SPACES)])])], "the space behind it", "into reading-room"),
    word!(
        "opens",
        &[form!([Part(Once, &[Choice(R::What, &["yes", "no"])])])],
        "whether a window can be opened",
        "opens no"
    ),
];
const KEEP_CLEAR: &[Word] = &[
    word!(
        "kind",
        &[form!([Part(
            Once,
            &[Choice(
                R::What,
                &[
                    "brake-line",
                    "fuel-line",
                    "fuel-tank",
                    "wiring",
                    "tyre",
                    "plastic",
                    "timber",
                    "air-spring",
                    "occupants"
                ]
            )]
        )])],
        "what it is",
        "kind brake-line"
    ),
    word!("outside", LENGTH, "its outside diameter", "outside 12 mm"),
    SPANS,
];
const ALARM: &[Word] = &[
    word!(
        "warns-of",
        &[form!([Part(Once, &[Choice(R::What, &["carbon-monoxide", "smoke", "fuel-vapour"])])])],
        "what it warns of",
        "warns-of carbon-monoxide"
    ),
    word!("in", &[form!([Part(Once, &[Name(R::What, SPACES)])])], "the space it watches", "in bunk"),
    word!(
        "supplied-by",
        &[form!([Part(Once, &[Choice(R::What, &["own-cell", "vehicle"])])])],
        "where its power comes from",
        "supplied-by own-cell"
    ),
    word!("behind", &[form!([Part(Once, &[Label(R::What)])])], "what hangs or stands before it", "behind curtain"),
];
const CONCESSION: &[Word] = &[
    word!(
        "on",
        many & [
            form!([Part(Once, &[Choice(R::By, CONCEDED), Literal("of"), Name(R::Owner, HEATERS)])]),
            form!([Part(
                Once,
                &[Choice(R::By, CONCEDED), Name(R::What, ANYTHING), Literal("of"), Name(R::Owner, HEATERS)]
            )]),
            form!([Part(Once, &[Choice(R::By, CONCEDED), Name(R::What, ANYTHING)])]),
            form!([Part(Once, &[Choice(R::By, CONCEDED)])]),
            form!([Part(Once, &[Literal("job")])]),
        ],
        "a block that the concession covers, written as its header; in a file that jobs follow, a kind without a name \
         means every block of that kind",
        "on warm-air cab"
    ),
    word!("because", TEXT, "the reason", "because \"screen outlet is for demisting only\""),
    word!("by", TEXT, "who grants it", "by \"workshop foreman\""),
    word!("until", &[form!([Part(Once, &[Date(R::What)])])], "the last day on which it holds", "until 2027-03-31"),
    NOTE,
];
/// The blocks that a concession, an opening in a kit or a practice can speak of: all that are described but the job.
const CONCEDED: &[&str] = match DESCRIBED.split_first() {
    Some((_job, blocks)) => blocks,
    None => &[],
};
macro_rules! asked {
    ($word:literal, $dimension:ident) => {
        form!(
            [Part(Once, &[Label(R::What)]), Part(Once, &[Choice(R::By, &[$word]), Measure(R::Amount, D::$dimension)])],
            [Part(Maybe, &[Literal("usually"), Measure(R::Usual, D::$dimension)])]
        )
    };
}

/// The words by which a kit asks for a quantity.
pub(super) const ASKED_DIMENSIONS: &[(&str, D)] = &[
    ("length", D::Length),
    ("area", D::Area),
    ("conductor", D::Conductor),
    ("volume", D::Volume),
    ("angle", D::Angle),
    ("duration", D::Time),
    ("mass", D::Mass),
    ("temperature", D::Temperature),
    ("pressure", D::Pressure),
    ("flow", D::VolumeFlow),
    ("voltage", D::Voltage),
    ("current", D::Current),
    ("resistance", D::Resistance),
    ("capacity", D::Charge),
    ("power", D::Power),
    ("share", D::Ratio),
];
/// Everything that a kit can ask for.
pub const ASKED_SORTS: &[&str] = &[
    "length",
    "area",
    "conductor",
    "volume",
    "angle",
    "duration",
    "mass",
    "temperature",
    "pressure",
    "flow",
    "voltage",
    "current",
    "resistance",
    "capacity",
    "power",
    "share",
    "space",
    "tank",
    "battery",
];
const ASKED_THINGS: &[&str] = &["space", "tank", "battery"];
const ASKED_KINDS: KindSet = KindSet::of(&[Kind::Space, Kind::Tank, Kind::Battery]);
const KIT: &[Word] = &[
    word!(
        "asks",
        many & [
            asked!("length", Length),
            asked!("area", Area),
            asked!("conductor", Conductor),
            asked!("volume", Volume),
            asked!("angle", Angle),
            asked!("duration", Time),
            asked!("mass", Mass),
            asked!("temperature", Temperature),
            asked!("pressure", Pressure),
            asked!("flow", VolumeFlow),
            asked!("voltage", Voltage),
            asked!("current", Current),
            asked!("resistance", Resistance),
            asked!("capacity", Charge),
            asked!("power", Power),
            asked!("share", Ratio),
            form!([Part(Once, &[Label(R::What)]), Part(Once, &[Choice(R::By, ASKED_THINGS)])]),
        ],
        "a value or a thing that each job that fits the kit must give; its bounds, and its usual value",
        "asks tank-run, length 1 m .. 6 m, usually 4.5 m"
    ),
    word!(
        "open",
        many & [
            form!([Part(Once, &[Choice(R::By, CONCEDED), Name(R::What, ANYTHING)])], [Part(Many, &[Label(R::Owner)])]),
            form!([Part(Once, &[Choice(R::By, CONCEDED)])], [Part(Many, &[Label(R::Owner)])]),
        ],
        "a block of the kit that a job may change, whole or in the words named",
        "open cable supply, size"
    ),
];
/// A line below `fit`: its first word is what the kit asks for, so that any word may stand there.
pub static ANSWER: Word = word!(
    "answer",
    many & [form!([Part(Once, &[Any(R::Amount)])]), form!([Part(Once, &[Name(R::What, ASKED_KINDS)])])],
    "an answer to what the kit asks for",
    "tank-run 3.2 m"
);
const CHANGE: &[Word] = &[word!(
    "without",
    many & [form!([Part(Once, &[Label(R::What)])])],
    "a property of the kit's block that this job leaves out",
    "without silencer"
)];
/// The headers that `usual` and `change` can speak of.
pub const DESCRIBED: &[&str] = &[
    "job",
    "vehicle",
    "space",
    "battery",
    "tank",
    "heater",
    "exhaust",
    "combustion-air",
    "return-air",
    "warm-air",
    "fuel-line",
    "coolant-line",
    "cable",
    "opening",
    "keep-clear",
    "alarm",
];
const PRACTICE: &[Word] = &[
    word!(
        "level",
        many & [form!([Part(Once, &[Rule(R::Rule)]), Part(Once, &[Choice(R::By, &["error", "warning"])])])],
        "makes the findings of a rule more severe",
        "level exhaust-end-at-tail, error"
    ),
    word!(
        "limit",
        many & [form!([Part(Once, &[Rule(R::Rule)]), Part(Once, &[Measure(R::Amount, D::Any)])])],
        "a tighter limit for a rule that measures",
        "limit exhaust-too-long, 1.5 m"
    ),
    word!(
        "requires",
        many & [
            form!([Part(
                Once,
                &[Choice(R::What, EACH_HEATERS), Literal("of"), Literal("each"), Choice(R::Owner, &["heater"])]
            )]),
            form!([Part(Once, &[Choice(R::What, CONCEDED)])]),
        ],
        "a block that each job must have, or must have for each heater",
        "requires return-air of each heater"
    ),
    NOTE,
];
/// Blocks that belong to a heater.
const EACH_HEATERS: &[&str] =
    &["exhaust", "combustion-air", "return-air", "warm-air", "fuel-line", "coolant-line", "cable"];
const STOCK: &[Word] = &[
    word!(
        "sizes",
        many & [
            form!([Part(Once, &[Measure(R::Amount, D::Conductor)])], [Part(Many, &[Measure(R::Amount, D::Conductor)])]),
            form!([Part(Once, &[Measure(R::Amount, D::Length)])], [Part(Many, &[Measure(R::Amount, D::Length)])]),
            form!([Part(Once, &[Measure(R::Amount, D::Current)])], [Part(Many, &[Measure(R::Amount, D::Current)])]),
        ],
        "the sizes that the workshop carries",
        "sizes 2.5 mm², 4 mm², 6 mm²"
    ),
    NOTE,
];

/// The things that a table's columns may describe beside the job itself.
const THINGS_OF_TABLES: &[&str] = &["vehicle", "space", "tank", "battery"];
const IN_UNIT: Part = Part(Maybe, &[Literal("in"), Text(R::Unit)]);
const TABLE: &[Word] = &[
    word!(
        "fits",
        &[form!([Part(Once, &[Name(R::What, KITS), Literal("as"), Label(R::Owner)])])],
        "the kit that the job of each row is made from, and its name in the job",
        "fits bunk-24 as bunk"
    ),
    word!(
        "column",
        many & [
            form!([Part(Once, &[Text(R::What)]), Part(Once, &[Flag(R::By, "left-out")])]),
            form!([Part(Once, &[Text(R::What)]), Part(Once, &[Flag(R::By, "title")])]),
            form!(
                [Part(Once, &[Text(R::What)]), Part(Once, &[Choice(R::By, &["job"]), Label(R::Property)])],
                [IN_UNIT]
            ),
            form!(
                [Part(Once, &[Text(R::What)]), Part(Once, &[Choice(R::By, &["answer"]), Label(R::Property)])],
                [IN_UNIT]
            ),
            form!(
                [
                    Part(Once, &[Text(R::What)]),
                    Part(Once, &[Choice(R::By, THINGS_OF_TABLES), Label(R::Owner), Label(R::Property)])
                ],
                [IN_UNIT]
            ),
        ],
        "a column, by its heading; what its cells state, and their unit",
        "column \"Tank run\", answer tank-run, in m"
    ),
    word!("file-names", TEXT, "the heading of the column that names the files", "file-names \"Order\""),
    word!(
        "decimal",
        &[form!([Part(Once, &[Choice(R::What, &["point", "comma"])])])],
        "the decimal sign of the numbers in the table; if not stated, a point",
        "decimal comma"
    ),
    NOTE,
];

const LENGTH_AND_BENDS: &[Form] = &[form!(
    [Part(Once, &[Measure(R::Amount, D::Length)])],
    [
        Part(Maybe, &[Literal("bends"), Measure(R::Bends, D::Angle)]),
        Part(Maybe, &[Literal("least"), Measure(R::Least, D::Length)])
    ]
)];
const LENGTH_AND_LIFT: &[Form] = &[form!(
    [Part(Once, &[Measure(R::Amount, D::Length)])],
    [Part(Maybe, &[Literal("lift"), Measure(R::Lift, D::Length)])]
)];

const HEATER_SHEET: &[Word] = &[
    word!("warms", &[form!([Part(Once, &[Choice(R::What, &["air", "coolant"])])])], "what it warms", "warms air"),
    word!(
        "burns",
        &[form!([Part(Once, &[Choice(R::What, &["diesel", "petrol"])])])],
        "the fuel that it is built for",
        "burns diesel"
    ),
    word!(
        "output",
        &[form!([Part(Once, &[Measure(R::Amount, D::Power)])])],
        "its lowest and highest heat output",
        "output 1.3 kW .. 3.8 kW"
    ),
    word!(
        "fuel-rate",
        &[form!([Part(Once, &[Measure(R::Amount, D::VolumeFlow)])])],
        "its lowest and highest fuel consumption",
        "fuel-rate 0.16 L/h .. 0.47 L/h"
    ),
    word!(
        "supply",
        &[form!([Part(Once, &[Measure(R::Amount, D::Voltage)])])],
        "the system voltage that it is built for",
        "supply 12 V"
    ),
    word!(
        "voltage",
        &[form!(
            [Part(Once, &[Measure(R::Amount, D::Voltage)])],
            [Part(Maybe, &[Literal("trips"), Literal("after"), Measure(R::Duration, D::Time)])]
        )],
        "the lowest and highest voltage allowed at its terminals, and how soon it stops outside them",
        "voltage 10.2 V .. 15.5 V, trips after 15 s"
    ),
    word!(
        "stage",
        many & [form!(
            [
                Part(Once, &[Choice(R::What, STAGES)]),
                Part(Once, &[Measure(R::Current, D::Current), Flag(R::Behaviour, "peak")])
            ],
            [Part(Maybe, &[Measure(R::Duration, D::Time)]), Part(Maybe, &[Flag(R::Behaviour, "regulated")])]
        )],
        "a stage of its running, with current and time",
        "stage pre-heat, 11 A peak, 90 s"
    ),
    word!(
        "fan",
        &[form!([
            Part(Once, &[Measure(R::Flow, D::VolumeFlow), Literal("no"), Literal("duct")]),
            Part(Maybe, &[Measure(R::Pressure, D::Pressure), Literal("blocked")])
        ])],
        "its fan: flow without duct, and pressure when blocked",
        "fan 150 m³/h no duct, 190 Pa blocked"
    ),
    word!(
        "exhaust-limit",
        LENGTH_AND_BENDS,
        "the longest exhaust allowed, the largest sum of its bends, and the shortest exhaust",
        "exhaust-limit 2 m, bends 270°"
    ),
    word!(
        "combustion-air-limit",
        LENGTH_AND_BENDS,
        "the longest combustion-air hose allowed, and the largest sum of its bends",
        "combustion-air-limit 2 m, bends 270°"
    ),
    word!(
        "warm-air-limit",
        LENGTH_AND_BENDS,
        "the longest way allowed for warm air, from heater to outlet",
        "warm-air-limit 6 m, bends 360°"
    ),
    word!("return-air-limit", LENGTH_AND_BENDS, "the longest return-air duct allowed", "return-air-limit 3 m"),
    word!(
        "suction-limit",
        LENGTH_AND_LIFT,
        "the longest line allowed from tank to pump, and the highest lift",
        "suction-limit 2 m, lift 500 mm"
    ),
    word!(
        "pressure-limit",
        LENGTH_AND_LIFT,
        "the longest line allowed from pump to heater, and the highest rise",
        "pressure-limit 5 m, lift 1.5 m"
    ),
    word!(
        "suction-pressure",
        &[form!([Part(Once, &[Measure(R::Amount, D::Pressure)])])],
        "the deepest suction that its pump can draw",
        "suction-pressure 10 kPa"
    ),
    word!(
        "delivery-pressure",
        &[form!([Part(Once, &[Measure(R::Amount, D::Pressure)])])],
        "the highest pressure that its pump can deliver against",
        "delivery-pressure 40 kPa"
    ),
    word!(
        "pump-tilt",
        &[form!([Part(Once, &[Measure(R::Amount, D::Angle)])])],
        "the tilt that its pump may have, outlet up",
        "pump-tilt 10° .. 80°"
    ),
    word!("dose", VOLUME, "how much its pump delivers in one stroke", "dose 0.03 mL"),
    word!(
        "exhaust-clear-of",
        many & [form!([Part(
            Once,
            &[
                Choice(
                    R::What,
                    &[
                        "combustion-air",
                        "openings",
                        "return-air",
                        "fuel-line",
                        "brake-line",
                        "tyre",
                        "wiring",
                        "plastic",
                        "timber"
                    ]
                ),
                Measure(R::Distance, D::Length)
            ]
        )])],
        "the least distance allowed between its exhaust and something else",
        "exhaust-clear-of combustion-air 300 mm"
    ),
    word!(
        "harness",
        many & [form!([Part(Once, &[Label(R::What)]), Part(Once, &[Measure(R::Distance, D::Length)])])],
        "a branch of its supplied harness; its length",
        "harness pump-lead, 3.9 m"
    ),
    word!(
        "port",
        many & [form!(
            [Part(
                Once,
                &[
                    Choice(
                        R::What,
                        &[
                            "exhaust",
                            "combustion-air",
                            "warm-air",
                            "return-air",
                            "fuel",
                            "supply",
                            "coolant-out",
                            "coolant-in"
                        ]
                    ),
                    Direction(R::Direction),
                    Measure(R::Distance, D::Length)
                ]
            )],
            [
                Part(Many, &[Direction(R::Direction), Measure(R::Distance, D::Length)]),
                Part(Maybe, &[Literal("facing"), Direction(R::Facing)])
            ]
        )],
        "a port: its place from the heater's middle, with the warm end forward, and the way it faces",
        "port exhaust left 40 mm, down 60 mm, facing down"
    ),
    word!("spans", PLACE, "the size of its body, in its own axes", "spans forward 310 mm, left 115 mm, up 122 mm"),
    word!("altitude", LENGTH, "how high above the sea it may be used", "altitude 0 m .. 1500 m"),
    word!(
        "corrects-altitude",
        &[form!([])],
        "where the air is thin it meters less fuel, by itself or by a kit that is fitted",
        "corrects-altitude"
    ),
    word!("fuse", &[form!([Part(Once, &[Measure(R::Current, D::Current)])])], "the fuse that it needs", "fuse 20 A"),
    word!(
        "senses",
        many & [form!([Part(Once, &[Choice(R::What, &["return-air", "remote"])])])],
        "where its controller can measure the temperature: in the air that it draws in, or by a sensor elsewhere",
        "senses return-air"
    ),
    word!("set-range", TEMPERATURE, "the temperatures that its thermostat can be set to", "set-range 7 °C .. 30 °C"),
    word!(
        "excess-air",
        &[form!([Part(Once, &[Measure(R::Amount, D::Ratio)])])],
        "the excess air of its burner",
        "excess-air 40 % .. 90 %"
    ),
    word!(
        "below-lowest",
        &[form!([Part(Once, &[Choice(R::What, &["stops", "runs-on"])])])],
        "what it does when the room needs less than its lowest output",
        "below-lowest stops"
    ),
    word!(
        "restart-below",
        &[form!([Part(Once, &[Measure(R::Amount, D::TemperatureDifference)])])],
        "how far the room cools below the set-point before the heater starts again",
        "restart-below 2 K"
    ),
    word!(
        "least-air-flow",
        &[form!([Part(Once, &[Measure(R::Amount, D::VolumeFlow)])])],
        "the smallest flow of warm air that it needs at full output",
        "least-air-flow 60 m³/h"
    ),
    word!("overheats", TEMPERATURE, "the temperature of its warm air at which its guard stops it", "overheats 130 °C"),
    word!(
        "duct-pressure",
        &[form!([Part(Once, &[Measure(R::Amount, D::Pressure)])])],
        "the highest resistance allowed for warm air and return air together",
        "duct-pressure 120 Pa"
    ),
    word!(
        "combustion-pressure",
        &[form!([Part(Once, &[Measure(R::Amount, D::Pressure)])])],
        "the highest resistance allowed for combustion air and exhaust together",
        "combustion-pressure 200 Pa"
    ),
    word!(
        "exhaust-temperature",
        TEMPERATURE,
        "the temperature of the exhaust at its port, at full output",
        "exhaust-temperature 380 °C"
    ),
    word!(
        "exhaust-and-air-limit",
        LENGTH_AND_BENDS,
        "the longest way allowed for exhaust and combustion air together, and the largest sum of their bends",
        "exhaust-and-air-limit 3 m, bends 360°"
    ),
    word!(
        "asks-for",
        many & [form!([Part(
            Once,
            &[Choice(R::What, &["exhaust-silencer", "intake-silencer", "drain-hole", "strainer", "water-trap"])]
        )])],
        "something that must be fitted with it",
        "asks-for intake-silencer"
    ),
    word!("bears-cut-after", TIME, "how soon its feed may be cut after it has stopped", "bears-cut-after 40 s"),
    word!(
        "fitted-on",
        many & [form!([Part(Once, &[Choice(R::What, &["floor", "wall", "ceiling"])])])],
        "what it may be fitted on",
        "fitted-on floor"
    ),
    word!("tilt", &[form!([Part(Once, &[Measure(R::Amount, D::Angle)])])], "how far it may lean", "tilt 0° .. 15°"),
    word!("glow-pin-room", LENGTH, "the free space that it takes to draw out its glow pin", "glow-pin-room 160 mm"),
    word!(
        "pump-bears",
        TEMPERATURE,
        "the air temperatures that its dosing pump can take",
        "pump-bears -40 °C .. 20 °C"
    ),
    word!(
        "coolant-flow",
        &[form!([Part(Once, &[Measure(R::Amount, D::VolumeFlow)])])],
        "the flow of coolant that it needs",
        "coolant-flow 8 L/min .. 20 L/min"
    ),
    NOTE,
];
const STAGES: &[&str] = &["pre-heat", "ignition", "high", "low", "after-glow", "cool-down", "standby"];
const TUBE_SHEET: &[Word] = &[
    word!(
        "made-of",
        &[form!(
            [Part(Once, &[Choice(R::Material, TUBE_MATERIALS)])],
            [Part(Maybe, &[Choice(R::Behaviour, TUBE_WALLS)])]
        )],
        "what it is made of, and whether its wall is corrugated or wound on wire",
        "made-of aluminium-paper, corrugated"
    ),
    word!("bore", LENGTH, "inside diameter", "bore 60 mm"),
    word!("outside", LENGTH, "outside diameter", "outside 63 mm"),
    word!("bend-radius", LENGTH, "the tightest bend allowed, measured to the middle line", "bend-radius 90 mm"),
    word!("roughness", LENGTH, "the roughness of its inside wall", "roughness 0.9 mm"),
    word!("bears", TEMPERATURE, "the temperatures that it can take", "bears -40 °C .. 140 °C"),
    NOTE,
];
const CABLE_SHEET: &[Word] = &[
    word!("size", &[form!([Part(Once, &[Measure(R::Amount, D::Conductor)])])], "conductor size", "size 4 mm²"),
    word!("insulation", TEMPERATURE, "the highest temperature that its insulation is rated for", "insulation 105 °C"),
    word!("outside", LENGTH, "outside diameter", "outside 3.7 mm"),
    word!(
        "resistance",
        &[form!([Part(Once, &[Measure(R::Resistance, D::Resistance), Literal("per"), Literal("metre")])])],
        "resistance of one conductor at 20 °C",
        "resistance 4.95 mΩ per metre"
    ),
    NOTE,
];
const FUSE_SHEET: &[Word] = &[
    word!("rating", &[form!([Part(Once, &[Measure(R::Amount, D::Current)])])], "rated current", "rating 20 A"),
    word!("type", &[form!([Part(Once, &[Choice(R::What, FUSE_TYPES)])])], "its type", "type blade"),
    word!("resistance", RESISTANCE, "its resistance when cold", "resistance 4.2 mΩ"),
    word!("holder", RESISTANCE, "the resistance of its holder's contacts", "holder 2 mΩ"),
    word!(
        "holder-bears",
        &[form!([Part(Once, &[Measure(R::Amount, D::Current)])])],
        "the current that its holder is made for",
        "holder-bears 30 A"
    ),
    NOTE,
];
const FILE_LINES: &[Word] = &[
    word!("trialfit", &[form!([Part(Once, &[Count(R::Count)])])], "the edition of the language", "trialfit 1"),
    word!("follows", many TEXT, "a file whose data sheets and house rules this file uses", "follows \"workshop/vans.trialfit\""),
];

pub(super) static FILE: KindWords = KindWords {
    kind: Kind::File,
    header: "",
    sheet_of: "",
    naming: Naming::Anything,
    says: "the lines outside any block",
    example: "trialfit 1",
    groups: &[FILE_LINES],
};

macro_rules! kind {
    ($kind:ident, $header:literal, $naming:ident, $says:literal, $example:literal, [$($group:expr_2021),*]) => {
        KindWords { kind: Kind::$kind, header: $header, sheet_of: "", naming: Naming::$naming, says: $says, example: $example, groups: &[$($group),*] }
    };
    ($kind:ident, sheet $of:literal, $says:literal, $example:literal, [$($group:expr_2021),*]) => {
        KindWords { kind: Kind::$kind, header: "datasheet", sheet_of: $of, naming: Naming::SheetName, says: $says, example: $example, groups: &[$($group),*] }
    };
}

/// Every kind, in the order of [`Kind`].
pub static KINDS: &[KindWords] = &[
    FILE,
    kind!(
        Job,
        "job",
        Title,
        "the job: its title, and the conditions that the install must stand",
        "job \"Mobile library 3\"",
        [JOB]
    ),
    kind!(Vehicle, "vehicle", Name, "the vehicle and its axes", "vehicle van-3", [VEHICLE, PLACED]),
    kind!(Space, "space", Name, "a space that is heated or that people use", "space reading-room", [SPACE, PLACED]),
    kind!(Battery, "battery", Name, "a battery", "battery house", [BATTERY, PLACED]),
    kind!(Tank, "tank", Name, "a fuel tank", "tank main", [TANK, PLACED]),
    kind!(Heater, "heater", Name, "a heater", "heater reader", [HEATER, PLACED]),
    kind!(
        Exhaust,
        "exhaust",
        OfHeater,
        "the exhaust, walked from the heater to its open end",
        "exhaust of reader",
        [EXHAUST, OPEN_LEGS, WALK]
    ),
    kind!(
        CombustionAir,
        "combustion-air",
        OfHeater,
        "the combustion-air hose, walked from the heater to its open end",
        "combustion-air of reader",
        [COMBUSTION_AIR, OPEN_LEGS, WALK]
    ),
    kind!(
        ReturnAir,
        "return-air",
        OfHeater,
        "the return air, walked from the heater to the place where it draws",
        "return-air of reader",
        [RETURN_AIR, OPEN_LEGS, WALK]
    ),
    kind!(
        WarmAir,
        "warm-air",
        NameOfHeater,
        "warm air, walked from the heater or a tee to its outlets",
        "warm-air main of reader",
        [WARM_AIR, LEGS, WALK]
    ),
    kind!(
        FuelLine,
        "fuel-line",
        OfHeater,
        "the fuel line, walked from the tank to the heater",
        "fuel-line of reader",
        [FUEL_LINE, LEGS, WALK]
    ),
    kind!(
        CoolantLine,
        "coolant-line",
        NameOfHeater,
        "a coolant line, walked from the heater",
        "coolant-line loop of reader",
        [COOLANT_LINE, LEGS, WALK]
    ),
    kind!(
        Cable,
        "cable",
        NameOfHeater,
        "a cable, walked from the battery to the heater",
        "cable supply of reader",
        [CABLE, LEGS, WALK]
    ),
    kind!(
        Opening,
        "opening",
        Name,
        "a door, window or vent of a space that people use",
        "opening side-door",
        [OPENING, PLACED]
    ),
    kind!(
        KeepClear,
        "keep-clear",
        Name,
        "something that heat or exhaust must stay away from",
        "keep-clear brake-pipe",
        [KEEP_CLEAR, LEGS, WALK]
    ),
    kind!(Alarm, "alarm", Name, "an alarm", "alarm bunk-co", [ALARM, PLACED]),
    kind!(
        Concession,
        "concession",
        Rule,
        "a rule that is set aside in writing",
        "concession suction-line-long",
        [CONCESSION]
    ),
    kind!(Stock, "stock", StockOf, "the sizes that the workshop carries", "stock cable", [STOCK]),
    kind!(HeaterSheet, sheet "heater", "data sheet of a heater", "datasheet heater air-4", [HEATER_SHEET]),
    kind!(HoseSheet, sheet "hose", "data sheet of a hose", "datasheet hose air-25", [TUBE_SHEET]),
    kind!(PipeSheet, sheet "pipe", "data sheet of a pipe", "datasheet pipe flue-24", [TUBE_SHEET]),
    kind!(DuctSheet, sheet "duct", "data sheet of a duct", "datasheet duct duct-60", [TUBE_SHEET]),
    kind!(LineSheet, sheet "line", "data sheet of a fuel line", "datasheet line thin-line", [TUBE_SHEET]),
    kind!(CableSheet, sheet "cable", "data sheet of a cable", "datasheet cable red-4", [CABLE_SHEET]),
    kind!(FuseSheet, sheet "fuse", "data sheet of a fuse", "datasheet fuse blade-20", [FUSE_SHEET]),
    kind!(
        Kit,
        "kit",
        Name,
        "a standard install: what it is made for, what it asks for, and what a job may change; the blocks below \
         belong to it",
        "kit bunk-24",
        [KIT, JOB]
    ),
    kind!(
        Fit,
        "fit",
        KitAs,
        "a kit that this job fits: its heater takes the name after `as`, and the lines below answer what the kit asks \
         for",
        "fit bunk-24 as bunk",
        [NOTES]
    ),
    kind!(
        Usual,
        "usual",
        KindAlone,
        "what is usual for a kind of block: these lines hold wherever a block of that kind does not say otherwise",
        "usual cable",
        [NOTES]
    ),
    kind!(
        Change,
        "change",
        KindNameOf,
        "a change to a block of a fitted kit, in the words of that block, as far as the kit leaves it open",
        "change exhaust of bunk",
        [CHANGE, NOTES]
    ),
    kind!(Table, "table", Name, "how the rows of a comma-separated table become jobs", "table orders", [TABLE]),
    kind!(
        Practice,
        "practice",
        Title,
        "what a workshop asks of every job that follows its file, on top of the rules",
        "practice \"Northern workshops\"",
        [PRACTICE]
    ),
    kind!(
        Sketch,
        "sketch",
        Title,
        "a question on the back of an envelope, in place of a job: what is written is judged, and what is not written is \
         told in one line; it is never final",
        "sketch \"is 2.5 mm² enough\"",
        [JOB]
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_number_the_rows() {
        for (row, entry) in KINDS.iter().enumerate() {
            assert_eq!(entry.kind as usize, row, "{}", entry.header);
        }
    }

    #[test]
    fn no_kind_knows_a_word_twice() {
        for entry in KINDS {
            let mut words: Vec<_> = entry.words().map(|word| word.word).collect();
            words.sort_unstable();
            let count = words.len();
            words.dedup();
            assert_eq!(words.len(), count, "{}", entry.header);
        }
    }
}
