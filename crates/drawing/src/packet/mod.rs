//! The packet: what goes to the shop wall, to the supplier and to the customer.
//!
//! [`packet`] gives every file by name and content; writing them is the command's business. `plan.json` and the job as
//! used are the command's too.

pub mod content;
pub mod html;
pub mod lists;
pub mod pages;
pub mod pdf;
mod tags;

use stripwright_plan::plan::Plan;

use crate::draft::Show;
use crate::scene::Scene;
use crate::writer;

/// What stands at the foot of the page and of every printed sheet.
pub(crate) const FOOTER: &str = "Local codes, the tools' own instructions and licensed practice come first.";

/// What is asked of a packet besides the plan.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// Lengths in both systems: the job's own first, the other in brackets.
    pub both: bool,
}

/// Every file of the packet: `packet.html`, `packet.pdf`, one SVG a drawing, `cut-list.csv`, `buy.csv`,
/// `offcuts.json`. The same plan gives the same bytes.
///
/// # Errors
/// A sentence that says which file could not be made.
pub fn packet(plan: &Plan, options: &Options) -> Result<Vec<(String, Vec<u8>)>, String> {
    let document = content::document(plan, options);
    let scenes = content::drawings(plan, Show::of(plan, options.both));
    let drawing = |scene: &Scene| (format!("{}.svg", scene.name), writer::file(scene).into_bytes());
    // The pages take about as long as all the rest.
    let pages = || pdf::file(&pages::set(&document, plan.units), &document.title);
    let (pages, (page, drawings)) = std::thread::scope(|scope| {
        let set = std::thread::Builder::new().spawn_scoped(scope, pages);
        let rest = (html::page(&document, "en"), scenes.iter().map(drawing).collect::<Vec<_>>());
        // (On the web there are no threads.)
        let set = set.map_or_else(
            |_| pages(),
            |set| set.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
        );
        (set, rest)
    });
    let pages = pages?;
    let mut files = vec![
        ("packet.html".to_string(), page.into_bytes()),
        ("packet.pdf".to_string(), pages),
        ("cut-list.csv".to_string(), lists::cut_list(plan)?),
        ("buy.csv".to_string(), lists::buy(plan)?),
        ("offcuts.json".to_string(), lists::offcuts(plan)),
    ];
    files.extend(drawings);
    Ok(files)
}
