//! What the packet says, in order, before it is set on pages or in a page for the screen.

use stripwright_plan::plan::{Caution, Direction, Plan, Step, Top};
use stripwright_plan::wording::count;
use stripwright_plan::words::{self, Words, letter, letters};
use stripwright_units::Money;

use crate::draft::Show;
use crate::font::Face;
use crate::packet::Options;
use crate::scene::Scene;
use crate::table::{Column, Table};
use crate::{base, blank, boards, face, rip, slab};

/// The packet as text and drawings.
#[derive(Clone, Debug)]
pub struct Document {
    /// The job's title.
    pub title: String,
    /// A line under the title.
    pub subtitle: String,
    /// Its parts, in order.
    pub sections: Vec<Section>,
}

/// A part of the packet.
#[derive(Clone, Debug)]
pub struct Section {
    /// A short name for links.
    pub id: &'static str,
    /// Its heading.
    pub title: String,
    /// What it holds.
    pub blocks: Vec<Block>,
}

/// A piece of content.
#[derive(Clone, Debug)]
pub enum Block {
    /// A paragraph.
    Text(String),
    /// Paragraphs that belong together, each with a mark before it.
    Points(Vec<String>),
    /// Names and values.
    Facts(Vec<(String, String)>),
    /// A table.
    Table(Table),
    /// A drawing.
    Drawing(Scene),
    /// A step of the work.
    Step(StepBlock),
}

/// A step, ready to be set.
#[derive(Clone, Debug)]
pub struct StepBlock {
    /// Its number.
    pub number: u32,
    /// What to do.
    pub title: String,
    /// What it is for; empty for the whole job.
    pub of: String,
    /// Minutes of work and of waiting, in words.
    pub time: String,
    /// How, in paragraphs.
    pub text: Vec<String>,
    /// Settings and counts.
    pub facts: Vec<(String, String)>,
    /// Saw work in order.
    pub runs: Option<Table>,
    /// Cautions that are worded here: title and text.
    pub cautions: Vec<(String, Vec<String>)>,
    /// Cautions that were worded before, in one line.
    pub reminder: String,
    /// Which drawings belong to it, in one line.
    pub drawings: String,
}

/// Everything the packet says.
pub fn document(plan: &Plan, options: &Options) -> Document {
    let show = Show::of(plan, options.both);
    let mut sections = vec![faces(plan, show), buying(plan, show), limits(plan, show)];
    sections.push(steps(plan, show));
    sections.push(standing(plan, show));
    sections.push(lists(plan, show));
    sections.push(prices(plan));
    sections.push(balance(plan));
    sections.retain(|s| !s.blocks.is_empty());
    Document { title: plan.title.clone(), subtitle: subtitle(plan), sections }
}

/// Every drawing of the packet, each once, in order.
pub fn drawings(plan: &Plan, show: Show) -> Vec<Scene> {
    let mut scenes: Vec<Scene> = (0..plan.tops.len()).filter_map(|i| face::plate(plan, i, show)).collect();
    scenes.extend((0..plan.layouts.len()).flat_map(|i| rip::plates(plan, i, show)));
    for (i, top) in plan.tops.iter().enumerate() {
        for j in 0..top.slabs.len() {
            scenes.extend(slab::glue_up(plan, i, j, show));
            scenes.extend(slab::bands(plan, i, j, show));
        }
        scenes.extend(blank::plate(plan, i, show));
        scenes.extend(blank::outline(plan, i, show));
    }
    scenes.extend(boards::plates(plan, show));
    scenes.extend((0..plan.bases.len()).flat_map(|i| base::plates(plan, i, show)));
    scenes
}

fn subtitle(plan: &Plan) -> String {
    let mut made: Vec<String> = plan.tops.iter().map(|t| format!("{} × {}", t.count, t.name)).collect();
    made.extend(plan.bases.iter().map(|b| format!("{} × {}", b.count, b.name)));
    let strips: Vec<&str> =
        plan.tops.iter().flat_map(|t| &t.slabs).flat_map(|s| &s.strips).map(|s| s.id.as_str()).collect();
    made.extend(
        plan.demands
            .iter()
            .filter(|d| d.count > 0 && !strips.contains(&d.id.as_str()))
            .map(|d| format!("{} × {}", d.count, d.id)),
    );
    if made.len() > 6 {
        let more = made.len() - 5;
        made.truncate(5);
        made.push(format!("and {more} more"));
    }
    made.join(", ")
}

fn faces(plan: &Plan, show: Show) -> Section {
    let blocks =
        (0..plan.tops.len()).filter_map(|i| face::plate(plan, i, show)).map(Block::Drawing).collect();
    Section { id: "face", title: "The finished face".into(), blocks }
}

fn buying(plan: &Plan, show: Show) -> Section {
    let mut columns =
        vec![Column::words("what", 46.0), Column::words("size", 60.0), Column::figures("how many", 16.0)];
    if plan.priced() {
        columns.extend([Column::figures("each", 20.0), Column::figures("together", 24.0)]);
    }
    let mut table = Table::new("", columns);
    let mut add = |name: &str, size: String, count: u32, price: Money| {
        let together = price * i64::from(count);
        let [name, count] = [name.to_string(), count.to_string()];
        if plan.priced() {
            table.row([name, size, count, price.to_string(), together.to_string()]);
        } else {
            table.row([name, size, count]);
        }
    };
    for sheet in &plan.buy.sheets {
        let size = plan.sheets.iter().find(|s| s.name == sheet.name).map_or(String::new(), |s| {
            let thick = s.thickness.map_or(String::new(), |t| format!(", {} thick", show.full(*t)));
            format!("{} {}{thick}", show.size(*s.length, *s.width), show.unit())
        });
        add(&sheet.name, size, sheet.count, *sheet.price);
    }
    for stick in &plan.buy.lumber {
        add(&stick.name, format!("{} long", show.full(*stick.length)), stick.count, *stick.price);
    }
    if plan.priced() {
        let empty = String::new;
        let total = plan.show_money(*plan.buy.total);
        table.total(["Sheets and lumber".into(), empty(), empty(), empty(), total]);
    }
    let mut blocks = vec![Block::Table(table), Block::Text(proof(plan))];
    let mut supplies = Table::new(
        "Glue, finish, hardware",
        vec![Column::words("what", 60.0), Column::figures("how much", 22.0), Column::words("of", 50.0)],
    );
    for line in
        plan.prices.lines.iter().filter(|l| ["glue", "finish", "hardware"].contains(&l.group.as_str()))
    {
        supplies.row([line.name.clone(), figure(line.quantity), line.unit.clone()]);
    }
    if supplies.rows.is_empty() {
        for top in &plan.tops {
            let grams: f64 = top.glue.iter().map(|g| g.grams).sum();
            if grams > 0.0 {
                supplies.row([format!("glue for {}", top.name), figure(grams.ceil()), "grams".into()]);
            }
        }
    }
    if !supplies.rows.is_empty() {
        blocks.push(Block::Table(supplies));
    }
    Section { id: "buy", title: "What to buy".into(), blocks }
}

/// How good the plan is known to be, in a sentence.
fn proof(plan: &Plan) -> String {
    let bound = plan.show_money(*plan.bound.money);
    if !plan.priced() {
        let fewest = plan.bound.money.things();
        let counted = "No price is given, so sheets and sticks are counted.";
        return if plan.bound.proven {
            format!(
                "Proven: nobody can cut this list from fewer than {fewest}. The proof is in plan.json and can be checked \
                 without the program that found it. {counted}"
            )
        } else {
            format!("Not proven to be the fewest: no plan can do with fewer than {fewest}. {counted}")
        };
    }
    if plan.bound.proven {
        format!(
            "Proven: nobody can buy the sheets and lumber for this list for less than {bound}. The proof is in \
             plan.json and can be checked without the program that found it."
        )
    } else {
        format!(
            "Not proven to be the least: no plan can cost less than {bound}, so at most {:.1} % might be saved.",
            plan.bound.gap * 100.0
        )
    }
}

fn limits(plan: &Plan, show: Show) -> Section {
    let mut blocks = Vec::new();
    if !plan.limits.is_empty() {
        blocks.push(Block::Points(plan.limits.iter().map(|l| show.said(l)).collect()));
    }
    if !plan.notes.is_empty() {
        blocks.push(Block::Points(plan.notes.iter().map(|n| show.said(n)).collect()));
    }
    let lacking = lacking(plan);
    if !lacking.is_empty() {
        blocks.push(Block::Points(vec![format!(
            "The typeface of the drawings and of the PDF has Latin letters only: other letters are printed there as `?`, in {}. \
             The lists and plan.json keep them as written, and so does the page for the screen.",
            lacking.join(", ")
        )]));
    }
    let warnings: Vec<String> = plan
        .bases
        .iter()
        .flat_map(|base| {
            base.warnings.iter().map(move |warning| format!("{}: {}", base.name, show.said(warning)))
        })
        .collect();
    if !warnings.is_empty() {
        blocks.push(Block::Points(warnings));
    }
    Section { id: "limits", title: "Limits that were met, and what to know first".into(), blocks }
}

/// What the job calls things with letters that the typeface does not have, each once.
fn lacking(plan: &Plan) -> Vec<String> {
    let tops = plan.tops.iter().map(|t| ("a top's name", &t.name));
    let bases = plan.bases.iter().map(|b| ("a base's name", &b.name));
    let sheets = plan.sheets.iter().map(|s| ("a sheet's name", &s.name));
    let lumber = plan.buy.lumber.iter().map(|l| ("a lumber's name", &l.name));
    let parts = plan.demands.iter().map(|d| ("a part's name", &d.id));
    let mut found: Vec<String> = Vec::new();
    for (what, words) in [("the title", &plan.title)]
        .into_iter()
        .chain(tops)
        .chain(bases)
        .chain(sheets)
        .chain(lumber)
        .chain(parts)
    {
        if !Face::Medium.has_all(&crate::writer::clean(words)) && !found.iter().any(|f| f == what) {
            found.push(what.to_string());
        }
    }
    found
}

fn steps(plan: &Plan, show: Show) -> Section {
    let mut blocks = vec![];
    let all = drawings(plan, show);
    let mut shown = vec![false; all.len()];
    let letters_table = label_scheme(plan, show);
    if !letters_table.rows.is_empty() {
        blocks.push(Block::Text(
            "Every size of piece has a letter. Pencil it on each piece as it comes off the saw, with the number of \
             its cut: the drawings and lists use the same letters."
                .into(),
        ));
        blocks.push(Block::Table(letters_table));
    }
    // Faces have been shown in their own part.
    for (scene, shown) in all.iter().zip(&mut shown) {
        *shown = scene.name.ends_with("-face");
    }
    // Wide drawings have pages of their own: they follow the last step of their stage, so that the steps read on.
    let mut waiting: Vec<Scene> = Vec::new();
    for (i, step) in plan.steps.iter().enumerate() {
        let mut block = step_block(plan, step, show);
        let wanted = |scene: &Scene| {
            step.drawings.iter().any(|d| {
                *d == scene.name
                    || scene.name.strip_prefix(d.as_str()).is_some_and(|rest| rest.starts_with("-sheet-"))
            })
        };
        let titles: Vec<&str> = all
            .iter()
            .filter(|s| wanted(s) && !s.name.contains("-sheet-"))
            .map(|s| s.title.as_str())
            .collect();
        if !titles.is_empty() {
            block.drawings = format!("See {}.", titles.join("; "));
        }
        blocks.push(Block::Step(block));
        for (scene, shown) in all.iter().zip(&mut shown) {
            if wanted(scene) && !*shown {
                *shown = true;
                if scene.width > face::PAPER.0 + 0.1 {
                    waiting.push(scene.clone());
                } else {
                    blocks.push(Block::Drawing(scene.clone()));
                }
            }
        }
        // Boards are sawn before the long work on their parts, and are drawn there.
        if step.id == "lumber" || plan.steps.get(i + 1).is_none_or(|next| next.stage != step.stage) {
            blocks.extend(waiting.drain(..).map(Block::Drawing));
        }
    }
    blocks.extend(
        all.into_iter().zip(shown).filter(|(_, shown)| !shown).map(|(scene, _)| Block::Drawing(scene)),
    );
    Section { id: "steps", title: "The work, in shop order".into(), blocks }
}

/// How each base stands with its top: arithmetic, told as such.
fn standing(plan: &Plan, show: Show) -> Section {
    let mut blocks = Vec::new();
    for base in &plan.bases {
        let standing = &base.standing;
        let mut table = Table::new(
            format!(
                "{}: {:.1} kg, centre of gravity {} up",
                base.name,
                standing.mass,
                show.near(standing.centre)
            ),
            vec![
                Column::words("to the", 40.0),
                Column::figures(format!("feet from the centre, {}", show.unit()), 40.0),
                Column::figures("empty, it goes over beyond", 40.0),
                Column::figures("held over overturning", 36.0),
                Column::figures("push that tips it, N", 32.0),
            ],
        );
        let or_none = |figure: Option<f64>, places: usize| {
            figure.map_or("–".to_string(), |f| format!("{f:.places$}"))
        };
        for side in &standing.sides {
            table.row([
                side.sides.clone(),
                show.bare(*side.reach),
                format!("{:.1}°", side.tipping),
                or_none(side.margin, 2),
                or_none(side.push, 0),
            ]);
        }
        blocks.push(Block::Table(table));
        blocks.push(Block::Points(standing.notes.iter().map(|n| show.said(n)).collect()));
    }
    Section { id: "standing", title: "How it stands".into(), blocks }
}

fn label_scheme(plan: &Plan, show: Show) -> Table {
    let mut table = Table::new(
        "Letters",
        vec![
            Column::words("letter", 12.0),
            Column::words("piece", 70.0),
            Column::figures(format!("length × width, {}", show.unit()), 46.0),
            Column::figures("cut in all", 20.0),
        ],
    );
    for (i, demand) in plan.demands.iter().enumerate() {
        let n: usize = plan
            .layouts
            .iter()
            .map(|l| l.pieces.iter().filter(|p| p.part == demand.id).count() * l.times as usize)
            .sum();
        // A size that no layout cuts keeps its letter, but has no place in the list.
        if n == 0 {
            continue;
        }
        table.row([letters(i), demand.id.clone(), show.size(*demand.length, *demand.width), n.to_string()]);
    }
    table
}

/// `1 h 20 min`, `6 min`.
fn minutes(minutes: f64) -> String {
    let whole = minutes.ceil() as u64;
    match (whole / 60, whole % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

fn step_block(plan: &Plan, step: &Step, show: Show) -> StepBlock {
    // What the table of runs says is not said again in words.
    let tabled = !step.runs.is_empty();
    let mut facts: Vec<(String, String)> = step
        .settings
        .iter()
        .filter(|s| !(tabled && is_run(&s.name)))
        .map(|s| {
            let value = match s.length {
                Some(length) if show.both => show.full(*length),
                _ => show.said(&s.value),
            };
            (s.name.clone(), value)
        })
        .collect();
    facts.extend(step.counts.iter().map(|c| (show.said(&c.what), c.count.to_string())));
    let here: Vec<&Caution> = plan.cautions.iter().filter(|c| step.cautions.contains(&c.id)).collect();
    let cautions = here
        .iter()
        .filter(|c| c.step == step.number)
        .map(|c| (c.title.clone(), c.text.iter().map(|t| show.said(t)).collect()))
        .collect();
    let earlier: Vec<String> = here
        .iter()
        .filter(|c| c.step != step.number)
        .map(|c| format!("{} (step {})", c.title.to_lowercase(), c.step))
        .collect();
    let time = match (step.minutes > 0.0, step.wait > 0.0) {
        (true, true) => format!("{} of work, then wait {}", minutes(step.minutes), minutes(step.wait)),
        (true, false) => minutes(step.minutes),
        (false, true) => format!("wait {}", minutes(step.wait)),
        (false, false) => String::new(),
    };
    StepBlock {
        number: step.number,
        title: step.title.clone(),
        of: step.of.clone(),
        time,
        text: step.text.iter().filter(|t| !(tabled && is_run(t))).map(|t| show.said(t)).collect(),
        facts,
        runs: runs(plan, step, show),
        cautions,
        reminder: if earlier.is_empty() {
            String::new()
        } else {
            format!("Mind again: {}.", earlier.join(", "))
        },
        drawings: String::new(),
    }
}

/// Whether words speak of one run of the saw: `Run 3, ...`.
fn is_run(words: &str) -> bool {
    words.strip_prefix("Run ").is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
}

fn runs(plan: &Plan, step: &Step, show: Show) -> Option<Table> {
    if step.runs.is_empty() {
        return None;
    }
    let mut table = Table::new(
        "Settings in order",
        vec![
            Column::figures("set", 8.0),
            Column::words("cut", 18.0),
            Column::figures(format!("fence or stop, {}", show.unit()), if show.both { 36.0 } else { 24.0 }),
            Column::words("cuts, by layout", 62.0),
            Column::words("frees", 40.0),
        ],
    );
    for run in &step.runs {
        let way = match run.direction {
            Direction::Rip => "rip",
            Direction::Crosscut => "crosscut",
        };
        let side = if run.inside { "" } else { ", piece on the free side" };
        let again = if run.again { ", set again" } else { "" };
        let cuts: Vec<String> = run
            .cuts
            .iter()
            .map(|c| format!("{}: {}", c.layout, words::runs(&c.numbers, "–").join(", ")))
            .collect();
        let frees: Vec<String> = run.frees.iter().map(|id| letter(plan, id)).collect();
        table.row([
            run.number.to_string(),
            format!("{way}{side}{again}"),
            show.bare(*run.setting),
            cuts.join("; "),
            frees.join(", "),
        ]);
    }
    Some(table)
}

fn lists(plan: &Plan, show: Show) -> Section {
    let mut blocks = Vec::new();
    let mut cut = Table::new(
        "Cut list",
        vec![
            Column::words("", 8.0),
            Column::words("piece", 40.0),
            Column::words("from", 36.0),
            Column::figures("layout", 14.0),
            Column::figures(format!("length × width, {}", show.unit()), 38.0),
            Column::figures(format!("thick, {}", show.unit()), if show.both { 22.0 } else { 12.0 }),
            Column::figures("on each", 9.0),
            Column::figures("in all", 9.0),
        ],
    );
    for line in crate::packet::lists::cut_lines(plan) {
        let size = match line.width {
            Some(width) => show.size(line.length, width),
            None => show.bare(line.length),
        };
        cut.row([
            line.letter,
            line.part,
            line.sheet,
            line.layout,
            size,
            line.thickness.map_or("–".to_string(), |t| show.bare(t)),
            line.each.to_string(),
            (line.each * line.times).to_string(),
        ]);
    }
    if !cut.rows.is_empty() {
        blocks.push(Block::Table(cut));
    }
    let mut kept = Table::new(
        "Offcuts to keep",
        vec![
            Column::words("from", 70.0),
            Column::figures(format!("length × width, {}", show.unit()), 46.0),
            Column::figures("how many", 20.0),
        ],
    );
    for offcut in crate::packet::lists::kept(plan) {
        kept.row([offcut.sheet, show.size(offcut.length, offcut.width), offcut.count.to_string()]);
    }
    if !kept.rows.is_empty() {
        blocks.push(Block::Table(kept));
    }
    for top in &plan.tops {
        blocks.push(Block::Facts(top_facts(top, show)));
    }
    Section { id: "lists", title: "Lists".into(), blocks }
}

fn top_facts(top: &Top, show: Show) -> Vec<(String, String)> {
    let outline = show.said(&Words { system: show.system }.outline(&top.outline));
    let laminations: Vec<String> = top.laminations.iter().map(u32::to_string).collect();
    let mut facts = vec![
        ("top".to_string(), format!("{}, {} to make", top.name, top.count)),
        ("outline".into(), outline),
        ("finished thickness".into(), show.full(*top.finished)),
        ("rip width of its strips".into(), show.full(*top.depth)),
        ("strips in all".into(), top.strips_total.to_string()),
    ];
    if laminations.len() <= 24 {
        facts.push(("laminations, band by band".into(), laminations.join(" ")));
    }
    for glue in &top.glue {
        facts.push((
            format!("glue, {}", glue.stage),
            format!("{}, {:.2} m², {:.0} g", count(glue.joints, "joint", "joints"), glue.area, glue.grams),
        ));
    }
    if let Some(mass) = top.mass {
        facts.push(("mass of one, finished".into(), format!("{:.2} kg", mass / 1000.0)));
    }
    facts
}

/// A quantity without needless decimals.
pub(crate) fn figure(value: f64) -> String {
    crate::writer::number(value)
}

fn prices(plan: &Plan) -> Section {
    let prices = &plan.prices;
    let mut blocks = Vec::new();
    if !prices.lines.is_empty() {
        let mut table = Table::new(
            "Cost",
            vec![
                Column::words("for", 22.0),
                Column::words("what", 60.0),
                Column::figures("quantity", 20.0),
                Column::words("of", 30.0),
                Column::figures("each", 18.0),
                Column::figures("amount", 24.0),
            ],
        );
        for line in &prices.lines {
            table.row([
                line.group.clone(),
                line.name.clone(),
                figure(line.quantity),
                line.unit.clone(),
                line.each.to_string(),
                line.amount.to_string(),
            ]);
        }
        table.row([
            "margin".into(),
            format!("{} per cent of the cost", figure(prices.margin_percent)),
            String::new(),
            String::new(),
            String::new(),
            prices.margin.to_string(),
        ]);
        table.total([
            "Total".into(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            plan.show_money(*prices.total),
        ]);
        blocks.push(Block::Table(table));
    }
    if !prices.quotes.is_empty() {
        let mut table = Table::new(
            "Quotes",
            vec![
                Column::words("for", 60.0),
                Column::figures("how many", 16.0),
                Column::figures("cost", 24.0),
                Column::figures("margin", 24.0),
                Column::figures("together", 24.0),
                Column::figures("for one", 24.0),
            ],
        );
        for quote in &prices.quotes {
            table.row([
                quote.name.clone(),
                quote.count.to_string(),
                quote.cost.to_string(),
                quote.margin.to_string(),
                quote.total.to_string(),
                quote.one.to_string(),
            ]);
        }
        blocks.push(Block::Table(table));
        for quote in &prices.quotes {
            if quote.quantities.is_empty() {
                continue;
            }
            let mut table = Table::new(
                format!("Quantities: {}", quote.name),
                vec![
                    Column::words("what", 60.0),
                    Column::words("unit", 30.0),
                    Column::figures("for one", 24.0),
                    Column::figures(format!("for {}", quote.count), 24.0),
                ],
            );
            for q in &quote.quantities {
                table.row([q.name.clone(), q.unit.clone(), figure(q.one), figure(q.all)]);
            }
            blocks.push(Block::Table(table));
        }
    }
    if prices.minutes > 0.0 {
        blocks.push(Block::Text(format!("Work in all: {}.", minutes(prices.minutes))));
    }
    if !prices.basis.is_empty() {
        blocks.push(Block::Points(prices.basis.clone()));
    }
    Section { id: "prices", title: "Prices and time".into(), blocks }
}

fn balance(plan: &Plan) -> Section {
    let mut blocks = Vec::new();
    let stages = plan.ledger.iter().map(|s| ("sheets".to_string(), s));
    let tops = plan.tops.iter().flat_map(|t| t.ledger.iter().map(|s| (t.name.clone(), s)));
    let mut table = Table::new(
        "Where the material went",
        vec![
            Column::words("of", 40.0),
            Column::words("stage", 34.0),
            Column::figures("in", 24.0),
            Column::figures("out", 24.0),
            Column::words("lost to", 60.0),
        ],
    );
    for (of, stage) in stages.chain(tops) {
        // Square millimetres are shown as square metres, cubic ones as litres: figures that can be pictured.
        let unit = if stage.unit == "mm2" { "m²" } else { "l" };
        let amount = |v: f64| format!("{:.3} {unit}", v * 1e-6);
        let lost: Vec<String> = stage
            .lost
            .iter()
            .filter(|l| l.amount > 0.0)
            .map(|l| format!("{} {}", l.cause, amount(l.amount)))
            .collect();
        table.row([of, stage.stage.clone(), amount(stage.input), amount(stage.output), lost.join(", ")]);
    }
    if !table.rows.is_empty() {
        blocks.push(Block::Table(table));
    }
    if !plan.assumed.is_empty() {
        let mut table = Table::new(
            "Assumed, because the job does not say",
            vec![Column::words("key", 70.0), Column::words("value", 90.0)],
        );
        for assumed in &plan.assumed {
            table.row([assumed.key.clone(), assumed.value.clone()]);
        }
        blocks.push(Block::Table(table));
    }
    Section { id: "balance", title: "Balance and assumptions".into(), blocks }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_times_read_well() {
        assert_eq!(words::runs(&[1, 3, 4, 5, 6, 9, 10], "–").join(", "), "1, 3–6, 9, 10");
        assert_eq!([0.4, 59.0, 60.0, 61.5].map(minutes), ["1 min", "59 min", "1 h", "1 h 2 min"]);
    }
}
