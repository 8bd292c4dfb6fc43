//! The teaching sheet: one page for a class. The part natural and turned, why it does what it does, three questions with something to
//! try and what should come out, what can hurt, and room to write.

use calotte_answers::explain::{degrees, digits, duration, energy, force, length};
use calotte_answers::heat::words::celsius;
use calotte_desk::{
    PROGRAM, Refusal, Reply, VERSION, Watch, heat, map, modes, poke, release, states, verdict,
};
use calotte_specimen::Case;
use serde_json::Value;

use crate::answers::{ReadSpecimens, answers};
use crate::book::Book;
use crate::closing;
use crate::lead::{self, number, of, word};
use crate::model::{Block, BoxKind, Document, Inline, Line};
use crate::request::{Request, plan};
use crate::sheet::apart;

/// A question to think about.
struct Think {
    ask: String,
    try_this: String,
    predicted: String,
}

fn think(ask: &str, try_this: &str, predicted: &str) -> Think {
    Think { ask: ask.to_owned(), try_this: try_this.to_owned(), predicted: predicted.to_owned() }
}

/// What a class is told of a part.
struct Lesson {
    why: Vec<String>,
    questions: Vec<Think>,
}

/// A length that one can set on callippers: tenths of a millimetre, hundredths for thin walls.
fn settable(m: f64) -> String {
    let step = if m < 1e-3 { 1e-5 } else { 1e-4 };
    let mm = (m / step).round() * step * 1e3;
    format!("{} mm", if m < 1e-3 { format!("{mm:.2}") } else { format!("{mm:.1}") })
}

/// A part that is turned inside out as a whole.
fn turned(r: &Value, released: Option<&Value>) -> Lesson {
    let n = |path: &str| number(r, path);
    let lip = n("inverted/lip_width_m")
        .map_or(String::new(), |w| format!(" This edge, the lip, is here {} wide.", length(w)));
    let wall = n("part/thickness_m").unwrap_or(0.0);
    let stays = word(r, "verdict") == "stays";
    let at = n("margin/threshold_thickness_m");
    let mut why = vec![format!(
        "Pushed through, a thin cap takes on nearly the shape of its mirror image. Nothing is stretched in that shape; it is only bent, and \
             bending a thin wall costs little. In the middle every piece is held by its neighbours. At the rim nobody holds it: there the wall bends \
             back towards the shape it was made in.{lip} Bending back makes the rim wider or narrower, so the lip is stretched as well, and stretching is \
             expensive. How wide the lip is, is the bargain between the two."
    )];
    let middle = if stays {
        "Here enough of the turned middle is left to hold the lip. So the part stays."
    } else {
        "Here the lip takes so much of the cap that nothing is left to hold it. So the part comes back."
    };
    let edge = at.map_or(String::new(), |h| {
        let apart = digits(100.0 * (wall / h - 1.0).abs(), 2);
        let side = if wall < h { "thinner" } else { "thicker" };
        format!(" The wall at which it changes its mind is {}; this one is {apart} % {side}.", length(h))
    });
    let waits = released.and_then(|r| number(r, "snap/wait_s")).filter(|_| word(r, "verdict") == "waits");
    let wait = waits.map_or(String::new(), |w| {
        format!(" But not at once: while it is held, rubber relaxes and gets used to the turned shape. After the hold of the case that holds it for about {}.", duration(w))
    });
    why.push(format!("{middle}{edge}{wait}"));
    let mut questions = Vec::new();
    if let Some(h) = at {
        // Far enough from the edge that tolerances do not decide.
        let away = n("margin/spread/thickness_ratio_half_width").map_or(0.1, |s| (2.0 * s).clamp(0.1, 0.4));
        let (other, then) =
            if stays { (h * (1.0 + away), "comes back by itself") } else { (h * (1.0 - away), "stays") };
        let more = if stays { "thicker" } else { "thinner" };
        questions.push(think(
            &format!("Would a cap with a {more} wall do the same?"),
            &format!("make one of the same size with a wall of {} and turn it inside out.", settable(other)),
            &format!("it {then}; the edge lies at {}.", length(h)),
        ));
    }
    if let Some(a) = n("margin/depth/threshold_half_angle_rad") {
        let here = n("part/half_angle_rad").unwrap_or(a);
        let (change, then) = if stays {
            (
                "cut rings off the rim of one, a little at a time (see the cautions), and turn it after each cut",
                "it comes back",
            )
        } else {
            ("make a deeper one of the same sphere and wall", "it stays")
        };
        let side = if stays { "shallower" } else { "deeper" };
        questions.push(think(
            &format!("What if the cap were {side}?"),
            &format!(
                "{change}. Measure the angle from the middle of the sphere to the rim; here it is {}.",
                degrees(here)
            ),
            &format!("once it is {side} than {}, {then}.", degrees(a)),
        ));
    }
    if let Some(wait) = waits {
        questions.push(think(
            "Does it matter how long it was held?",
            "hold it turned for one second, ten seconds, a minute; time the wait after each with a film.",
            &format!("longer holds give longer waits; after the hold of the case about {}.", duration(wait)),
        ));
    } else {
        let e = n("inverted/stretching_energy_J").zip(n("inverted/bending_energy_J")).map(|(a, b)| a + b);
        let stored = e.map_or(String::new(), |e| {
            format!(
                " A rubber twice as stiff stores twice the energy: {} instead of {}.",
                energy(2.0 * e),
                energy(e)
            )
        });
        questions.push(think(
            "Does a stiffer rubber help it stay?",
            "make the same cap of a harder rubber, and one that is larger in every size alike.",
            &format!("all do the same: proportions decide, not stiffness or size.{stored}"),
        ));
    }
    Lesson { why, questions }
}

/// A disc of layers that trips when it is heated.
fn heated(r: &Value) -> Lesson {
    let n = |path: &str| number(r, path);
    let at = |key: &str| {
        n(&format!("{key}/temperature_K")).map_or("no temperature in the range looked at".to_owned(), celsius)
    };
    let why = vec![
        "Layers that grow by different amounts are bonded into one dished disc. Heated, the layer that grows more wants the disc to bend its way, against \
         the dish. At first the dish only flattens: to go through flat it would have to be squeezed in its plane, and that is expensive. Bending gains with every \
         degree, and at one temperature the dish cannot hold any longer. It jumps through, all at once."
            .to_owned(),
        format!(
            "On cooling it does not jump back at the same temperature: turned, it is a dish the other way, and that has to be overcome too. It trips at {} and resets at {}.",
            at("trip"),
            at("reset")
        ),
    ];
    let creep = n("creep/travel_m").map_or(String::new(), |c| format!(" Before, it creeps {}.", length(c)));
    let moves = r.get("moves").and_then(Value::as_array);
    let rise = moves.into_iter().flatten().find(|m| ["shape.rise", "depth"].contains(&word(m, "input")));
    let deeper = rise.and_then(|m| number(m, "trip_K_per_percent")).map_or(
        "the trip moves; the report says by how much.".to_owned(),
        |k| {
            let way = if k > 0.0 { "higher" } else { "lower" };
            format!("for one percent more rise the trip is {} K {way}.", digits(k.abs(), 2))
        },
    );
    Lesson {
        why,
        questions: vec![
            think(
                "Does it bend slowly or jump?",
                "warm the disc slowly on a plate with a thermometer beside it, and watch its middle with a dial or a film.",
                &format!(
                    "it jumps at {} and moves {}.{creep}",
                    at("trip"),
                    n("trip/movement_m").map_or("little".to_owned(), |m| length(m.abs()))
                ),
            ),
            think(
                "Why does it not reset where it tripped?",
                "let it cool slowly and note where it jumps back.",
                &format!(
                    "it resets at {}, {} K lower.",
                    at("reset"),
                    n("delta_K").map_or("some".to_owned(), |d| digits(d, 3))
                ),
            ),
            think(
                "Would a deeper dish trip earlier or later?",
                "compare two discs of one sheet, dished to different rise.",
                &deeper,
            ),
        ],
    }
}

/// A part that is pushed.
fn pushed(r: &Value) -> Lesson {
    let n = |path: &str| number(r, path);
    let unit = |k: &str| r.pointer(&format!("/load/{k}")).and_then(Value::as_str).unwrap_or("").to_owned();
    let load = |path: &str| n(path).map(|v| calotte_answers::poke::words::quantity(v, &unit("load_unit")));
    let moved =
        |path: &str| n(path).map(|v| calotte_answers::poke::words::quantity(v, &unit("displacement_unit")));
    let (Some(trip), Some(travel)) = (load("by_load/load_SI"), moved("by_load/displacement_SI")) else {
        let first = r
            .get("explanation")
            .and_then(Value::as_array)
            .and_then(|l| l.first())
            .and_then(Value::as_str)
            .unwrap_or("");
        return Lesson {
            why: vec![
                "Pushed, a curved wall resists: it must be squeezed in its plane before it can bend through."
                    .to_owned(),
                first.to_owned(),
            ],
            questions: vec![think(
                "Does it click?",
                "press it slowly on a letter scale and watch the reading.",
                first,
            )],
        };
    };
    let back = load("return_trip/load_SI");
    let why = vec![
        "Pushed at its top, a curved wall resists: to go down it must be squeezed in its plane, and a thin wall hates that. But the farther it goes, the more it can \
         escape by bending, and bending is cheap. So the force rises, has a peak, and then falls: past the peak the wall runs away under the load. That is the click."
            .to_owned(),
        format!("Here the peak is {trip} at a travel of {travel}."),
    ];
    let mut questions = vec![think(
        "Where is the peak?",
        "press the part slowly on a letter scale and note the largest reading before it gives way.",
        &format!("{trip}, when it has gone {travel}."),
    )];
    questions.push(think(
        "Does it come back at the same force?",
        "let the load off slowly and note where it returns.",
        &back.map_or("it stays down: nothing brings it back.".to_owned(), |f| {
            format!("it returns at {f}, less than the peak.")
        }),
    ));
    let plain = unit("displacement_unit") == "m" && unit("load_unit") == "N";
    let stiff = n("initial_stiffness_SI").filter(|_| plain).map_or(String::new(), |s| {
        format!(" Before the click it gives way by one millimetre for every {}.", force(1e-3 * s))
    });
    questions.push(think(
        "What if the rubber were twice as stiff?",
        "make the same part of a harder rubber.",
        &format!("all forces double and all travels stay.{stiff}"),
    ));
    Lesson { why, questions }
}

/// A part of several pieces that fold over.
fn folding(r: &Value) -> Lesson {
    let n = |path: &str| number(r, path);
    let count = n("stable").map_or(String::new(), |v| format!("{v:.0}"));
    let names: Vec<&str> =
        r.get("states").and_then(Value::as_array).into_iter().flatten().map(|s| word(s, "name")).collect();
    let why = vec![
        "Each cone of the wall can be turned over like a small cap: its mirror image is bent at its edges and stretched hardly at all. Stiff rings between the cones hold \
         the edges where they are. To turn a cone over it must pass through flat, where it is squeezed in its plane, and that is the hill between two resting shapes."
            .to_owned(),
        format!("Here {} resting shapes were found.", count),
    ];
    let listed = names.join("; ");
    let fold = n("fold/fold_force_N").map_or("the report lists the forces.".to_owned(), |f| {
        let open =
            n("fold/unfold_force_N").map_or(String::new(), |u| format!(", and {} open it again", force(u)));
        format!("it folds at about {}{open}.", force(f))
    });
    Lesson {
        why,
        questions: vec![
            think(
                "In how many shapes does it rest?",
                "push and pull it into every shape that stays by itself; draw each.",
                &format!("{}: {listed}.", count),
            ),
            think(
                "How hard must one push?",
                "press it down on kitchen scales and note the largest reading.",
                &fold,
            ),
            think(
                "Which shape is the easiest to leave?",
                "nudge every shape gently and see which goes first.",
                &r.get("states")
                    .and_then(Value::as_array)
                    .into_iter()
                    .flatten()
                    .filter_map(|s| number(s, "barrier_J").map(|b| (word(s, "name"), b)))
                    .min_by(|a, b| a.1.total_cmp(&b.1))
                    .map_or("none leaves by itself.".to_owned(), |(name, b)| {
                        format!("{name}: only {} hold it there.", energy(b))
                    }),
            ),
        ],
    }
}

/// The teaching sheet of a case.
///
/// # Errors
/// A [`Refusal`] where an answer is doubtful (nothing doubtful is taught), or as for a report.
pub fn sheet(
    case: &Case,
    request: &Request,
    specimens: ReadSpecimens<'_>,
    threads: usize,
    watch: &dyn Watch,
) -> Result<Document, Refusal> {
    let mut asked = plan(case, request, &[])?;
    if asked.questions.first() == Some(&modes::NAME) {
        return Err(Refusal::with_help(
            "a complete sphere has no rim to turn inside out",
            "a sheet is for caps, discs, keys, domes and bowls",
        ));
    }
    asked.questions.retain(|q| {
        [verdict::NAME, states::NAME, heat::NAME, poke::NAME, release::NAME].contains(q) && *q != map::NAME
    });
    let replies = answers(case, &asked, request, specimens, threads, watch)?;
    let first =
        lead::first(&replies).ok_or_else(|| Refusal::Failed { says: "nothing was answered".to_owned() })?;
    if first.doubtful {
        let doubts = apart(&first.sheet).doubts.join(" ");
        return Err(Refusal::with_help(
            format!("the answer is doubtful, and nothing doubtful goes on a teaching sheet: {doubts}"),
            "see `calotte report` without --sheet, and choose a part that is decided",
        ));
    }
    Ok(composed(case, request, &replies, first))
}

fn composed(case: &Case, request: &Request, replies: &[Reply], first: &Reply) -> Document {
    let told: Vec<_> = replies.iter().map(|r| apart(&r.sheet)).collect();
    let own = replies.first().map_or(&Value::Null, |r| &r.report);
    let released = of(replies, release::NAME).map(|r| &r.report);
    let lesson = match first.question {
        heat::NAME => heated(&first.report),
        poke::NAME => pushed(&first.report),
        states::NAME => folding(&first.report),
        _ => turned(own, released),
    };
    let mut book = Book::default();
    // The part natural and turned: of a heated one before and after its jumps.
    let named = |reply: &Reply, name: &str| reply.figures.iter().find(|f| f.name == name).cloned();
    let drawing = match first.question {
        heat::NAME => named(first, "heat-shapes"),
        states::NAME => named(first, "states"),
        poke::NAME => named(first, "shapes")
            .or_else(|| replies.first().and_then(|r| named(r, "shape")))
            .or_else(|| named(first, "path")),
        _ => replies.first().and_then(|r| named(r, "shape")),
    };
    book.chapter(if first.question == verdict::NAME || first.question == release::NAME {
        "Bending against stretching"
    } else {
        "What happens"
    });
    if let Some(f) = drawing {
        book.figure(first.question, &f, &case.title);
    }
    lesson.why.iter().for_each(|w| book.text(Line::of(w)));
    book.chapter("Think, try, compare");
    for (i, q) in lesson.questions.iter().enumerate() {
        book.text(Line(vec![
            Inline::Strong(format!("{}. {} ", i + 1, q.ask)),
            Inline::Text("Try this: ".to_owned()),
            Inline::Text(format!("{} ", q.try_this)),
            Inline::Strong("Predicted: ".to_owned()),
            Inline::Text(q.predicted.clone()),
        ]));
    }
    let cautions = closing::cautions(case, replies, &told);
    book.aside(BoxKind::Caution, "Before you begin", cautions.iter().map(|c| Line::of(c)).collect());
    book.blocks.push(Block::Blank {
        title: "What we saw".to_owned(),
        heads: ["part", "what we did", "what happened", "as predicted?"].map(str::to_owned).to_vec(),
        rows: 3,
    });
    Document {
        title: case.title.clone(),
        kind: "Teaching sheet".to_owned(),
        answer: lead::answer(replies),
        date: request.date.clone(),
        made_by: format!("{PROGRAM} {VERSION}, case {}", case.digest()),
        blocks: book.blocks,
        data: String::new(),
        one_page: true,
    }
}
