//! Bases: from the job to what the splay crate is asked, its answer as plan.json shows it, and the sticks that it
//! needs as a packing problem over boards.

mod against;
mod answer;
mod boards;
mod lengths;

use stripwright_pattern as pattern;
use stripwright_splay as splay;
use stripwright_splay::{
    BaseSpec, Edges, Fixing, Follows, Height, Joint, Leans, Outline, RungPair, RungSpec, Section, Shop,
    Spread, Stance, TopSpec, Wood,
};
use stripwright_units::{Angle, Length};

use crate::fault::{Fault, Place};
use crate::job::{Job, Lumber, Sheet, Top, USUAL_DENSITY};
use crate::keys;
use crate::reader::{Fields, Reader};
use crate::wording;
use crate::words::join;

pub(crate) use against::audit_against;
pub use answer::*;
pub(crate) use boards::again as boards_again;
pub(crate) use boards::audit as audit_boards;
pub(crate) use boards::sticks;
pub use boards::{BoardDemand, BoardKind, BoardMake, Boards, BoardsPlan, SectionYield, boards};
pub use lengths::{BoardLane, BoardLength, cuts, lengths};

/// For so many bases that cannot be made it is found out what would do: a job of hundreds must not take minutes to refuse.
const SEARCHED: usize = 3;

/// A base as the job asks for it.
#[derive(Clone, Debug)]
pub struct Base {
    /// Where the job says it.
    pub place: Place,
    /// What the splay crate is asked.
    pub spec: BaseSpec,
    /// The top of the job that it is made for.
    pub top: Option<String>,
    /// Indices of the lumber it may be cut from.
    pub lumber: Vec<usize>,
    /// For each rung entry of the spec, the entry of the job's list that it comes from.
    written_rungs: Vec<usize>,
    /// Where the job says what of it, by paths from its entry.
    places: Vec<(String, Place)>,
}

impl Base {
    /// Where the job says something of it: what a key holds, or the nearest thing around that.
    pub(crate) fn place_of(&self, key: &str) -> Place {
        let at = |key: &str| self.places.iter().find(|(path, _)| path == key).map(|(_, place)| *place);
        let mut path = key;
        loop {
            if let Some(place) = at(path) {
                return place;
            }
            match path.rfind(['.', '[']) {
                Some(end) => path = &path[..end],
                None => return self.place,
            }
        }
    }
}

/// What a base needs to know of the rest of the job.
pub(crate) struct Around<'a> {
    pub(crate) mark: Length,
    pub(crate) kerf: Length,
    pub(crate) sheets: &'a [Sheet],
    pub(crate) tops: &'a [Top],
    /// Whether every top that is written could be read.
    pub(crate) all_tops: bool,
    pub(crate) lumber: &'a [Lumber],
}

/// Reads one entry of `bases`.
pub(crate) fn read(reader: &mut Reader<'_>, fields: &Fields<'_>, around: &Around<'_>) -> Option<Base> {
    let name = reader.text(fields, "name");
    let count = reader.count(fields, "count");
    let (named, top) =
        read_top(reader, fields, around).map_or((None, None), |(named, top)| (named, Some(top)));
    let height = read_height(reader, fields);
    let [front, side] = ["front_lean", "side_lean"].map(|key| reader.number(fields, key));
    let leans = (front.is_some() || side.is_some()).then(|| Leans {
        front: Angle::degrees(front.unwrap_or(0.0)),
        side: Angle::degrees(side.unwrap_or(0.0)),
    });
    let top_spread = read_spread(reader, fields, "top_spread", "top_spread_depth");
    let floor_spread = read_spread(reader, fields, "floor_spread", "floor_spread_depth");
    let [leg, depth] = ["leg", "leg_depth"].map(|key| reader.length(fields, key));
    let leg = Section { width: leg?, thickness: depth.or(leg)? };
    let (rungs, written_rungs, mut follows) = read_rungs(reader, fields, leg, around.mark);
    let joint = read_joint(reader, fields, !rungs.is_empty());
    follows.extend(follow(reader, fields));
    assume_leans(reader, fields);
    let fixing = reader.shape(fields, "screws").and_then(|screws| read_screws(reader, &screws));
    let lumber = read_lumber(reader, fields, around.lumber);
    let [step, density] = ["angle_step", "density"].map(|key| reader.number(fields, key));
    let [end_allowance, planing, edge_squaring] =
        ["end_allowance", "planing", "edge_squaring"].map(|key| reader.length(fields, key));
    let shop = Shop {
        mark: around.mark,
        angle_step: Angle::degrees(step?),
        kerf: around.kerf,
        end_allowance: end_allowance?,
        planing: planing?,
        edge_squaring: edge_squaring?,
        density: density?,
        system: reader.system,
    };
    let spec = BaseSpec {
        count: count?,
        height,
        leans,
        top_spread,
        floor_spread,
        rungs,
        joint,
        top,
        fixing,
        shop,
        follows,
        entries: written_rungs.clone(),
        ..BaseSpec::new(&name?, leg)
    };
    let places = reader.places(fields);
    Some(Base { place: fields.place, spec, top: named, lumber: lumber?, written_rungs, places })
}

/// The sizes across that go with those along, as nobody gave them: each is an assumption.
fn follow(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Vec<Follows> {
    let pairs = [
        ("leg", "leg_depth", Follows::LegDepth),
        ("top_spread", "top_spread_depth", Follows::TopDepth),
        ("floor_spread", "floor_spread_depth", Follows::FloorDepth),
    ];
    let mut follows = Vec::new();
    for (first, second, follow) in pairs {
        if fields.written(first).is_some() && fields.written(second).is_none() {
            reader.assume(&fields.key(second), &format!("as `{first}`"));
            follows.push(follow);
        }
    }
    follows
}

/// Legs stand plumb where neither a lean nor two spreads say otherwise.
fn assume_leans(reader: &mut Reader<'_>, fields: &Fields<'_>) {
    let written = |key: &str| fields.written(key).is_some();
    let leans = ["front_lean", "side_lean"];
    let follow = written("top_spread") && written("floor_spread") && !leans.into_iter().any(written);
    for key in leans.into_iter().filter(|key| !follow && !written(key)) {
        reader.assume(&fields.key(key), "0");
    }
}

fn read_height(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Height> {
    let underside = reader.length(fields, "height").map(Height::Underside);
    let seat = reader.length(fields, "seat_height").map(Height::Seat);
    if underside.is_some() && seat.is_some() {
        let place = fields.place;
        reader.fault(place, fields.key("seat_height"), wording::one_of("height", "seat_height", true));
    }
    underside.or(seat)
}

fn read_spread(reader: &mut Reader<'_>, fields: &Fields<'_>, width: &str, depth: &str) -> Option<Spread> {
    let [across, deep] = [width, depth].map(|key| reader.length(fields, key));
    if across.is_none() && deep.is_some() && fields.written(width).is_none() {
        let place = fields.place;
        reader.fault(
            place,
            fields.key(depth),
            format!("it says the depth of a spread without its width; give `{width}` too"),
        );
    }
    Some(Spread { width: across?, depth: deep.or(across)? })
}

/// What is known of the top that a base is made for, and its name where it is one of the job's.
fn read_top(
    reader: &mut Reader<'_>,
    fields: &Fields<'_>,
    around: &Around<'_>,
) -> Option<(Option<String>, TopSpec)> {
    let thickness = reader.length(fields, "top_thickness");
    let name = reader.text(fields, "top");
    let Some(name) = name else {
        let plain = |thickness| TopSpec { thickness, outline: None, density: USUAL_DENSITY };
        return thickness.map(|thickness| (None, plain(thickness)));
    };
    let place = fields.written("top").map_or(fields.place, |value| reader.place(value));
    if thickness.is_some() {
        reader.fault(place, fields.key("top_thickness"), wording::one_of("top", "top_thickness", true));
    }
    let known: Vec<&str> = around.tops.iter().map(|top| top.name.as_str()).collect();
    let Some(top) = around.tops.iter().find(|top| top.name == name) else {
        // A top that could not be read has its own fault.
        if around.all_tops {
            reader.fault(place, fields.key("top"), wording::no_such_name(&name, "top", &known));
        }
        return None;
    };
    let density = top.density(around.sheets);
    Some((Some(name), TopSpec { thickness: top.finished, outline: outline_of(&top.outline), density }))
}

/// The outline as far as a base cares.
fn outline_of(outline: &pattern::Outline) -> Option<Outline> {
    /// How far a corner may lie off the true edge, in millimetres: polygons have none.
    const FINE: f64 = 0.05;
    match *outline {
        pattern::Outline::Round { diameter } => Some(Outline::Round { diameter }),
        pattern::Outline::Oval { length, width } => Some(Outline::Oval { width: length, depth: width }),
        pattern::Outline::Rectangle { length, width }
        | pattern::Outline::RoundedRectangle { length, width, .. } => {
            Some(Outline::Rectangle { width: length, depth: width })
        }
        pattern::Outline::Polygon { .. } | pattern::Outline::Free { .. } => {
            let corner = |p: &pattern::Point| [p.x, p.y].map(Length::nearest_mm);
            Some(Outline::Free { corners: outline.edge(FINE).iter().map(corner).collect() })
        }
    }
}

/// The rungs, the entry that each was written in, and which of their sizes go by the leg.
fn read_rungs(
    reader: &mut Reader<'_>,
    fields: &Fields<'_>,
    leg: Section,
    mark: Length,
) -> (Vec<RungSpec>, Vec<usize>, Vec<Follows>) {
    let (mut rungs, mut written, mut follows) = (Vec::new(), Vec::new(), Vec::new());
    for (n, (path, value)) in reader.entries(fields, "rungs").into_iter().enumerate() {
        let made = if value.as_object().is_some() {
            reader
                .open(&keys::RUNG, value, path)
                .and_then(|rung| read_rung(reader, &rung, leg, mark))
                .unwrap_or_default()
        } else {
            let height = reader.length_of(value, path.clone(), false);
            height.map(|height| usual_rungs(reader, &path, height, leg, mark)).unwrap_or_default()
        };
        for (rung, open) in made {
            let n_rung = rungs.len();
            let [width, thickness] = [Follows::RungWidth(n_rung), Follows::RungThickness(n_rung)];
            follows
                .extend([width, thickness].into_iter().zip(open).filter(|(_, open)| *open).map(|(f, _)| f));
            rungs.push(rung);
            written.push(n);
        }
    }
    (rungs, written, follows)
}

/// A rung, and whether its width and its thickness go by the leg.
type RungRead = (RungSpec, [bool; 2]);

/// Rungs on all sides of which the job says the height alone: everything else is assumed.
fn usual_rungs(
    reader: &mut Reader<'_>,
    path: &str,
    height: Length,
    leg: Section,
    mark: Length,
) -> Vec<RungRead> {
    for key in keys::RUNG.keys {
        if let keys::Need::Else(value) = key.need {
            reader.assume(&format!("{path}.{}", key.name), value);
        }
    }
    assume_section(reader, |key| format!("{path}.{key}"), [true, true]);
    let both = [RungPair::FrontAndBack, RungPair::LeftAndRight];
    both.map(|pair| (RungSpec::usual(pair, height, leg, mark), [true, true])).to_vec()
}

fn assume_section(reader: &mut Reader<'_>, key_of: impl Fn(&str) -> String, open: [bool; 2]) {
    let usual = [("width", "as `leg`"), ("thickness", "five eighths of `leg_depth`")];
    for ((key, value), _) in usual.into_iter().zip(open).filter(|(_, open)| *open) {
        reader.assume(&key_of(key), value);
    }
}

fn read_rung(
    reader: &mut Reader<'_>,
    fields: &Fields<'_>,
    leg: Section,
    mark: Length,
) -> Option<Vec<RungRead>> {
    let height = reader.length(fields, "height");
    let sides = reader.word(fields, "sides");
    let [width, thickness, set_in] = ["width", "thickness", "set_in"].map(|key| reader.length(fields, key));
    let open = ["width", "thickness"].map(|key| fields.written(key).is_none());
    assume_section(reader, |key| fields.key(key), open);
    let stance = reader
        .word(fields, "stance")
        .map(|word| if word == "plumb" { Stance::Plumb } else { Stance::InPlane });
    let edges =
        reader.word(fields, "edges").map(|word| if word == "square" { Edges::Square } else { Edges::Level });
    let pairs: &[RungPair] = match sides? {
        "front and back" => &[RungPair::FrontAndBack],
        "left and right" => &[RungPair::LeftAndRight],
        _ => &[RungPair::FrontAndBack, RungPair::LeftAndRight],
    };
    let (height, set_in, stance, edges) = (height?, set_in?, stance?, edges?);
    let of = |pair: &RungPair| {
        let usual = RungSpec::usual(*pair, height, leg, mark);
        let section = Section {
            width: width.unwrap_or(usual.section.width),
            thickness: thickness.unwrap_or(usual.section.thickness),
        };
        (RungSpec { section, set_in, stance, edges, ..usual }, open)
    };
    Some(pairs.iter().map(of).collect())
}

fn read_joint(reader: &mut Reader<'_>, fields: &Fields<'_>, any: bool) -> Joint {
    let open = Joint::Dowels { diameter: None, length: None, count: None };
    if any && fields.written("joint").is_none() {
        reader.assume(&fields.key("joint"), "dowels");
    }
    let Some(joint) = reader.kinds(fields, "joint") else { return open };
    match joint.kind() {
        "tenon" => {
            let [length, thickness] = ["length", "thickness"].map(|key| reader.length(&joint, key));
            Joint::Tenon { length, thickness }
        }
        _ => {
            let [diameter, length] = ["diameter", "length"].map(|key| reader.length(&joint, key));
            Joint::Dowels { diameter, length, count: reader.count(&joint, "count") }
        }
    }
}

fn read_screws(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Fixing> {
    let [number, each] = ["number", "each"].map(|key| reader.count(fields, key));
    let [sunk, cover, through] = ["sunk", "cover", "through"].map(|key| reader.length(fields, key));
    let wood = reader.word(fields, "wood").map(|word| if word == "soft" { Wood::Soft } else { Wood::Hard });
    Some(Fixing { through, sunk: sunk?, number: number?, each: each?, wood: wood?, cover: cover? })
}

fn read_lumber(reader: &mut Reader<'_>, fields: &Fields<'_>, lumber: &[Lumber]) -> Option<Vec<usize>> {
    let (Some(name), Some(value)) = (reader.text(fields, "lumber"), fields.written("lumber")) else {
        return Some((0..lumber.len()).collect());
    };
    let known: Vec<&str> = lumber.iter().map(|l| l.name.as_str()).collect();
    let found = known.iter().position(|known| *known == name);
    if found.is_none() {
        let place = reader.place(value);
        reader.fault(place, fields.key("lumber"), wording::no_such_name(&name, "lumber", &known));
    }
    Some(vec![found?])
}

/// Works out every base of a job.
///
/// # Errors
/// Every reason why a base cannot be made, with its place in the job.
pub fn bases(job: &Job) -> Result<Vec<splay::Base>, Vec<Fault>> {
    let (mut made, mut faults, mut refused) = (Vec::new(), Vec::new(), 0);
    for (n, base) in job.bases.iter().enumerate() {
        let brief = if refused < SEARCHED { Vec::new() } else { splay::refused(&base.spec) };
        let answer = if brief.is_empty() { splay::base(&base.spec) } else { Err(brief) };
        match answer {
            Ok(answer) => made.push(answer),
            Err(refusals) => {
                refused += 1;
                faults.extend(told(n, base, refusals));
            }
        }
    }
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

/// What is refused of one base, with the job's keys and places.
fn told(n: usize, base: &Base, refusals: Vec<splay::Refusal>) -> Vec<Fault> {
    // One entry of the job's rungs may be two of the spec's: what is wrong with both is told once.
    let mut said: Vec<(String, String, Vec<String>, bool)> = Vec::new();
    for refusal in refusals {
        let key = written_key(base, &refusal.key);
        let apart = if refusal.changes.iter().flatten().any(|change| change.alone)
            && of_one_entry(base, &refusal.key)
        {
            " Write this level as two entries, each with `sides`, so that one pair of rungs changes alone."
        } else {
            ""
        };
        let sentence = refusal.sentence() + apart;
        match said.iter_mut().find(|(other, same, ..)| (other, same) == (&key, &sentence)) {
            Some((_, _, pieces, _)) => pieces.push(refusal.piece),
            None => said.push((key, sentence, vec![refusal.piece], refusal.unsaid)),
        }
    }
    said.into_iter()
        .map(|(key, sentence, pieces, unsaid)| {
            let pieces: Vec<String> = pieces.into_iter().filter(|piece| !piece.is_empty()).collect();
            let whose = if pieces.is_empty() { String::new() } else { format!(", {}", join(&pieces)) };
            let text = format!("{}{whose}: {sentence}", base.spec.name);
            // What was not said at all is a fault of the job file; the rest is a base that cannot be.
            let fault = if unsaid { Fault::input } else { Fault::impossible };
            fault(Some(base.place_of(&key)), format!("bases[{n}].{key}"), text)
        })
        .collect()
}

/// Whether one entry of the job's rungs became the rung of a key and another.
fn of_one_entry(base: &Base, key: &str) -> bool {
    let n = key.strip_prefix("rungs[").and_then(|rest| rest.split(']').next()?.parse::<usize>().ok());
    let entry = n.and_then(|n| base.written_rungs.get(n));
    entry.is_some_and(|entry| base.written_rungs.iter().filter(|other| *other == entry).count() > 1)
}

/// The job's key for a field of the spec: one entry of the job's rungs may have become two of the spec's.
fn written_key(base: &Base, key: &str) -> String {
    let entry = key.strip_prefix("rungs[").and_then(|rest| {
        let (number, field) = rest.split_once(']')?;
        let n = base.written_rungs.get(number.parse::<usize>().ok()?)?;
        Some(format!("rungs[{n}]{field}"))
    });
    match entry {
        // A section is written as its two sizes.
        Some(entry) => entry.trim_end_matches(".section").to_string(),
        None => key.replace("fixing", "screws"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job(base: &str) -> Result<Job, Vec<Fault>> {
        Job::read(&format!(
            r#"{{"sheets":[{{"name":"birch","length":2440,"width":1220,"thickness":18,"price":90}}],
                "tops":[{{"name":"counter","finished":32,"sheet_thickness":18,"outline":{{"kind":"round","diameter":360}},
                          "pattern":{{"kind":"straight"}}}}],
                "lumber":[{{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}}],
                "bases":[{base}]}}"#
        ))
    }

    #[track_caller]
    fn fault(base: &str, words: &str) {
        let found: Vec<String> = job(base).unwrap_err().iter().map(ToString::to_string).collect();
        assert!(found.iter().any(|f| f.contains(words)), "no `{words}` in {found:#?}");
    }

    #[test]
    fn reads_the_base_of_the_design() {
        let job = job(
            r#"{"name":"frame","count":4,"height":"700 mm","front_lean":6,"side_lean":6,"leg":"32 mm","top_spread":"260 mm","rungs":["140 mm"]}"#,
        )
        .unwrap();
        let base = &job.bases[0];
        assert_eq!(base.spec.rungs.len(), 2);
        assert_eq!(base.written_rungs, [0, 0]);
        assert_eq!(base.spec.height, Some(Height::Underside(Length::from_mm(700))));
        assert!(job.assumed.iter().any(|a| a.key == "bases[].angle_step" && a.value == "0.1"));
        let made = bases(&job).unwrap();
        assert_eq!(made[0].legs.length, Length::from_mm(708));
        assert_eq!(made[0].sticks.iter().map(|s| s.count).sum::<u32>(), 32);
    }

    #[test]
    fn reads_everything_a_base_may_say() {
        let job = job(
            r#"{"name":"stool","seat_height":732,"top":"counter","leg":32,"leg_depth":30,"top_spread":260,"top_spread_depth":240,
                "floor_spread":420,"floor_spread_depth":400,"angle_step":0.5,"lumber":"ash","density":650,
                "joint":{"kind":"tenon","length":12},
                "rungs":[{"height":140,"sides":"left and right","width":30,"thickness":18,"set_in":2,"stance":"plumb","edges":"square"},
                         {"height":700,"sides":"front and back","width":60}],
                "screws":{"number":10,"sunk":20}}"#,
        )
        .unwrap();
        let spec = &job.bases[0].spec;
        assert_eq!(
            spec.top.clone().unwrap().outline,
            Some(Outline::Round { diameter: Length::from_mm(360) })
        );
        assert_eq!((spec.rungs[0].stance, spec.rungs[0].edges), (Stance::Plumb, Edges::Square));
        assert_eq!(spec.rungs[1].section.thickness, Length::from_mm(19));
        assert_eq!((spec.leans, job.bases[0].lumber.as_slice()), (None, [0].as_slice()));
        let made = bases(&job).unwrap();
        assert_eq!(made[0].height, Length::from_mm(700));
        assert!(made[0].fixings.is_some() && made[0].centring.is_some());
    }

    #[test]
    fn faults_of_bases_have_their_place_and_the_nearest_key() {
        fault(r#"{"name":"a","leg":32,"height":700,"top_spred":260}"#, "did you mean `top_spread`?");
        fault(r#"{"name":"a","height":700,"top_spread":260}"#, "`leg` is missing");
        fault(r#"{"name":"a","leg":32,"height":700,"seat_height":730,"top_spread":260}"#, "`height`");
        fault(r#"{"name":"a","leg":32,"height":700,"top_spread":260,"lumber":"ahs"}"#, "ash");
        fault(r#"{"name":"a","leg":32,"height":700,"top_spread":260,"top":"countr"}"#, "counter");
        fault(r#"{"name":"a","leg":32,"height":700,"top_spread_depth":260}"#, "give `top_spread` too");
        fault(r#"{"name":"a","leg":32,"height":700,"top_spread":260,"front_lean":50}"#, "45");
        fault(
            r#"{"name":"a","leg":32,"height":700,"top_spread":260,"rungs":[{"hight":10}]}"#,
            "did you mean `height`?",
        );
        fault(r#"{"name":"a","leg":32,"height":700,"top_spread":260,"joint":{"kind":"dowles"}}"#, "dowels");
    }

    #[test]
    fn what_would_do_is_looked_for_in_the_first_bases_only() {
        let bases: Vec<String> = (0..5)
            .map(|n| format!(r#"{{"name":"b{n}","leg":32,"height":700,"top_spread":260,"rungs":[10]}}"#))
            .collect();
        let faults = bases_of(&bases.join(",")).unwrap_err();
        let told: Vec<bool> = faults.iter().map(|f| f.text.contains("It would do with")).collect();
        assert_eq!(told, [true, true, true, false, false]);
        assert!(faults.iter().all(|f| f.text.contains("22 mm below the floor")));
    }

    fn bases_of(bases: &str) -> Result<Vec<splay::Base>, Vec<Fault>> {
        super::bases(&job(bases).unwrap())
    }

    #[test]
    fn refusals_name_the_entry_that_was_written() {
        let job = job(r#"{"name":"a","leg":32,"height":700,"top_spread":260,"rungs":[140, 10],
                "screws":{"through":25},"top_thickness":30}"#)
        .unwrap();
        let faults = bases(&job).unwrap_err();
        let keys: Vec<&str> = faults.iter().map(|f| f.key.as_str()).collect();
        assert_eq!(keys, ["bases[0].rungs[1].height"], "both rungs of the level, in one sentence");
        assert_eq!(
            faults[0].text,
            "a, front and back rung 2 and left and right rung 2: Its bottom edge would be 22 mm below the floor; `height` is to its \
             top edge. It would do with `height` of 32 mm (22 mm more)."
        );
        // Without a thickness of the top for the screws, that is not all.
        let job = self::job(
            r#"{"name":"a","leg":32,"height":700,"top_spread":260,"rungs":[140, 10], "screws":{"through":25}}"#,
        )
        .unwrap();
        let behind = bases(&job).unwrap_err()[0].text.clone();
        assert!(
            behind.contains("cured by `height` of 32 mm") && behind.contains("other faults show"),
            "{behind}"
        );
        // Line 5 of the text that `job` makes, at the 10.
        assert_eq!(faults[0].place.map(|p| (p.line, p.column)), Some((5, 91)));
    }

    /// What is said to do, done in the job: the leg's depth and the rungs' sections follow the leg, a spread's depth its width, and
    /// of two entries that are alike only the one that is named changes.
    #[test]
    fn what_would_do_does_in_the_job() {
        let thin = r#"{"name":"a","leg":28,"height":600,"front_lean":3.4,"side_lean":0.1,"top_spread":264,"joint":{"kind":"tenon"},
            "rungs":[{"height":600,"sides":"front and back","width":41,"thickness":29,"set_in":17},{"height":162,"sides":"front and back"},
                     {"height":180,"sides":"left and right","set_in":9},{"height":330,"sides":"left and right","width":57,"thickness":22}]}"#;
        let alike = r#"{"name":"a","leg":32,"height":700,"front_lean":6,"side_lean":6,"top_spread":260,
            "joint":{"kind":"dowels","diameter":8,"length":48},
            "rungs":[{"height":140,"sides":"front and back"},{"height":140,"sides":"left and right"}]}"#;
        let one = r#"{"name":"a","leg":40,"height":500,"front_lean":20,"side_lean":5,"top_spread":260,
            "joint":{"kind":"dowels","diameter":10,"length":60,"count":2},
            "rungs":[{"height":500,"sides":"front and back","width":60}]}"#;
        let mut tried = 0;
        for text in [thin, alike, one] {
            let asked = job(text).unwrap();
            let refusals = splay::base(&asked.bases[0].spec).unwrap_err();
            for refusal in refusals.iter().filter(|refusal| refusal.cure == splay::Cure::Base) {
                for change in refusal.changes.iter().flatten() {
                    let mut base: serde_json::Value = serde_json::from_str(text).unwrap();
                    let to = serde_json::json!(change.to.to_mm());
                    match change.key.strip_prefix("rungs[").and_then(|rest| rest.split_once("].")) {
                        Some((n, field)) => base["rungs"][n.parse::<usize>().unwrap()][field] = to,
                        None => match change.key.split_once('.') {
                            Some((joint, field)) => base[joint][field] = to,
                            None => base[&change.key] = to,
                        },
                    }
                    let made = bases(&job(&base.to_string()).unwrap());
                    assert!(made.is_ok(), "{change:?} does not do: {:?}", made.err());
                    tried += 1;
                }
            }
        }
        assert!(tried >= 5, "{tried}");
        // The leg of the first is what must grow.
        let said = bases(&job(thin).unwrap()).unwrap_err()[0].text.clone();
        assert!(said.contains("It would do with `leg` of 38.5 mm"), "{said}");
    }

    #[test]
    fn what_a_base_leaves_unsaid_is_assumed_in_so_many_words() {
        let assumed = |base: &str| {
            let job = job(base).unwrap();
            job.assumed.iter().map(|a| format!("{} {}", a.key, a.value)).collect::<Vec<_>>()
        };
        let plain = assumed(r#"{"name":"a","leg":32,"height":700,"top_spread":260,"rungs":[140]}"#);
        for line in [
            "bases[].front_lean 0",
            "bases[].side_lean 0",
            "bases[].leg_depth as `leg`",
            "bases[].top_spread_depth as `top_spread`",
            "bases[].joint dowels",
            "bases[].rungs[].width as `leg`",
            "bases[].rungs[].thickness five eighths of `leg_depth`",
            "bases[].rungs[].sides all",
            "bases[].rungs[].set_in 0 mm",
        ] {
            assert!(plain.iter().any(|own| own == line), "no `{line}` in {plain:#?}");
        }
        // Two spreads make the leans; what is written is not assumed.
        let said = assumed(
            r#"{"name":"a","leg":32,"leg_depth":30,"height":700,"top_spread":260,"top_spread_depth":260,"floor_spread":300,
                "rungs":[{"height":140,"width":30,"thickness":18}],"joint":{"kind":"dowels"}}"#,
        );
        for key in ["front_lean", "side_lean", "leg_depth", "top_spread_depth", "width", "thickness", "joint"]
        {
            let of_it = |own: &String| own.starts_with("bases[]") && own.contains(&format!(".{key} "));
            assert!(!said.iter().any(of_it), "{key}: {said:#?}");
        }
        assert!(said.iter().any(|own| own == "bases[].floor_spread_depth as `floor_spread`"));
    }

    #[test]
    fn what_is_not_said_is_a_fault_of_the_file_and_said_once() {
        use crate::fault::Sort;
        let sort = |base: &str| bases(&job(base).unwrap()).unwrap_err()[0].sort;
        assert_eq!(sort(r#"{"name":"a","leg":32,"top_spread":260}"#), Sort::Input);
        assert_eq!(sort(r#"{"name":"a","leg":32,"height":700}"#), Sort::Input);
        assert_eq!(sort(r#"{"name":"a","leg":32,"seat_height":700,"top_spread":260}"#), Sort::Input);
        assert_eq!(
            sort(r#"{"name":"a","leg":32,"height":700,"top_spread":260,"screws":{"through":25}}"#),
            Sort::Input
        );
        assert_eq!(sort(r#"{"name":"a","leg":32,"height":700,"top_spread":60}"#), Sort::Impossible);
        let keys = |job: &str| {
            let faults = Job::read(job).unwrap_err();
            faults.iter().map(|f| f.key.clone()).collect::<Vec<_>>()
        };
        assert_eq!(keys(r#"{"bases":{"name":"a"}}"#), ["bases"]);
        // A top that cannot be judged without sheets is there all the same.
        let top = r#"{"tops":[{"name":"seat","finished":32,"outline":{"kind":"round","diameter":360},
            "pattern":{"kind":"straight"}}],"bases":[{"name":"a","seat_height":480,"leg":40,"top_spread":250,"top":"seat"}]}"#;
        assert!(keys(top).iter().all(|key| !key.contains("bases")), "{:?}", keys(top));
    }
}
