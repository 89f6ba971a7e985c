//! What the shop reckons with: router, sanding, finish, its own minutes, its own prices.
//!
//! Every figure has a key, a default that the plan lists as assumed, and no authority beyond the shop's own practice
//! unless a source is named: no published minutes an operation exist for this work (T93), and prices are nobody's
//! but the shop's, so money defaults to nothing at all.

use stripwright_units::{Length, Money};

use crate::reader::{Fields, Reader};

/// The router and its cutter.
#[derive(Clone, Copy, Debug)]
pub struct Router {
    /// Diameter of the bit that follows the outline.
    pub bit: Length,
    /// Deepest pass: 3 mm (T41, common practice, no source).
    pub pass: Length,
    /// What the rough sawing leaves outside the outline for the last pass: 1 to 2 mm (T41, common practice).
    pub leave: Length,
    /// Radius that the edges are eased to; 3 mm is a common bit (T84, common practice).
    pub round_over: Length,
}

/// The finish.
#[derive(Clone, Debug)]
pub struct Finish {
    /// What it is called.
    pub name: String,
    /// Square metres a litre covers in the first coat, on long grain (T79: 8 to 12, from memory).
    pub coverage: f64,
    /// Square metres a litre covers in each later coat (T79: more than in the first).
    pub later_coverage: f64,
    /// How many times as much the first coat takes on tops: their faces are about half end grain (T79: 2).
    pub end_grain: f64,
    /// How many coats (T78: 2 to 6).
    pub coats: u32,
    /// Share left in brush, rag and tin.
    pub lost: f64,
    /// Millilitres a tin.
    pub tin: f64,
}

/// Minutes, by the shop's own experience.
#[derive(Clone, Copy, Debug)]
pub struct Times {
    /// To set and check a fence, a stop, a blade or a planer.
    pub setting: f64,
    /// To bring one sheet to the saw and stack what comes off.
    pub sheet: f64,
    /// For one rip or crosscut of a sheet.
    pub cut: f64,
    /// To mark one piece.
    pub mark: f64,
    /// To set one clamp and take it off again.
    pub clamp: f64,
    /// To spread and lay one joint of the second glue-up.
    pub joint: f64,
    /// To scrape a square metre of glued face.
    pub scrape: f64,
    /// To handle one pass at the planer, besides the feed.
    pub pass: f64,
    /// Metres that the planer feeds in a minute.
    pub feed: f64,
    /// For one cut of the bias saw.
    pub bias_cut: f64,
    /// For a metre of outline in one pass of the router, and for a metre of rough sawing.
    pub outline: f64,
    /// To ease a metre of edge.
    pub ease: f64,
    /// To fill the voids of a square metre of face.
    pub voids: f64,
    /// To sand a square metre with one grit.
    pub sand: f64,
    /// To clean a square metre before the finish.
    pub clean: f64,
    /// To lay one coat on a square metre.
    pub coat: f64,
    /// For one cut of a leg or a rung.
    pub leg_cut: f64,
    /// To bore one hole, marking included.
    pub bore: f64,
    /// To drive one screw, drilling included.
    pub screw: f64,
    /// To glue up and square one base.
    pub assemble: f64,
    /// In clamps, unstressed: 30 to 60 (T28, common practice, no source).
    pub clamped: f64,
    /// From glue-up to planing: a day (T28, common practice, no source).
    pub cure: f64,
    /// From coat to coat.
    pub dry: f64,
}

/// Money, by the shop's own books.
#[derive(Clone, Copy, Debug)]
pub struct Rates {
    /// Labour, an hour.
    pub labour: Money,
    /// Overhead, an hour of labour (T93: both must be known).
    pub overhead: Money,
    /// Margin on the cost, per cent.
    pub margin: f64,
    /// A bottle of glue.
    pub glue: Money,
    /// A tin of finish.
    pub finish: Money,
    /// A dowel.
    pub dowel: Money,
    /// A screw.
    pub screw: Money,
    /// Wear of saw blades, for 100 m of cut.
    pub sawing: Money,
    /// Wear of planer knives, for 100 m of feed.
    pub planing: Money,
    /// Abrasive for a square metre sanded with one grit.
    pub abrasive: Money,
    /// Per cent of its price by area that an offcut worth keeping is credited with (T91: credit usable surplus).
    pub offcut_credit: f64,
}

/// All of it.
#[derive(Clone, Debug)]
pub struct Reckoning {
    /// The router.
    pub router: Router,
    /// Grits, coarse to fine.
    pub grits: Vec<u32>,
    /// The finish.
    pub finish: Finish,
    /// Minutes.
    pub times: Times,
    /// Money.
    pub rates: Rates,
}

/// The grits of a shop that names none: each step less than double (T82).
pub(crate) const GRITS: [u32; 4] = [80, 120, 150, 180];

/// Reads `shop.router`, `shop.sanding`, `shop.finish`, `shop.times` and `shop.rates`.
pub(crate) fn read(reader: &mut Reader<'_>, shop: &Fields<'_>) -> Option<Reckoning> {
    let router = reader.shape(shop, "router").and_then(|router| {
        let [bit, pass, leave, round_over] =
            ["bit", "pass", "leave", "round_over"].map(|key| reader.length(&router, key));
        Some(Router { bit: bit?, pass: pass?, leave: leave?, round_over: round_over? })
    });
    let grits = reader.shape(shop, "sanding").map(|sanding| read_grits(reader, &sanding));
    let finish = reader.shape(shop, "finish").and_then(|finish| {
        let name = reader.text(&finish, "name");
        let coats = reader.count(&finish, "coats");
        let [coverage, later_coverage, end_grain, lost, tin] =
            ["coverage", "later_coverage", "end_grain", "lost", "tin"].map(|key| reader.number(&finish, key));
        Some(Finish {
            name: name?,
            coverage: coverage?,
            later_coverage: later_coverage?,
            end_grain: end_grain?,
            coats: coats?,
            lost: lost?,
            tin: tin?,
        })
    });
    let times = reader.shape(shop, "times").and_then(|fields| read_times(reader, &fields));
    let rates = reader.shape(shop, "rates").and_then(|fields| read_rates(reader, &fields));
    Some(Reckoning { router: router?, grits: grits?, finish: finish?, times: times?, rates: rates? })
}

fn read_grits(reader: &mut Reader<'_>, sanding: &Fields<'_>) -> Vec<u32> {
    let grits = reader.counts(sanding, "grits");
    if sanding.written("grits").is_none() { GRITS.to_vec() } else { grits }
}

fn read_times(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Times> {
    // All keys are read before any is missed, so that all faults come out at once.
    let mut minutes = |key| reader.number(fields, key);
    let [setting, sheet, cut, mark, clamp, joint] =
        ["setting", "sheet", "cut", "mark", "clamp", "joint"].map(&mut minutes);
    let [scrape, pass, feed, bias_cut, outline, ease] =
        ["scrape", "pass", "feed", "bias_cut", "outline", "ease"].map(&mut minutes);
    let [voids, sand, clean, coat, leg_cut, bore] =
        ["voids", "sand", "clean", "coat", "leg_cut", "bore"].map(&mut minutes);
    let [screw, assemble, clamped, cure, dry] =
        ["screw", "assemble", "clamped", "cure", "dry"].map(&mut minutes);
    Some(Times {
        setting: setting?,
        sheet: sheet?,
        cut: cut?,
        mark: mark?,
        clamp: clamp?,
        joint: joint?,
        scrape: scrape?,
        pass: pass?,
        feed: feed?,
        bias_cut: bias_cut?,
        outline: outline?,
        ease: ease?,
        voids: voids?,
        sand: sand?,
        clean: clean?,
        coat: coat?,
        leg_cut: leg_cut?,
        bore: bore?,
        screw: screw?,
        assemble: assemble?,
        clamped: clamped?,
        cure: cure?,
        dry: dry?,
    })
}

fn read_rates(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Rates> {
    let [labour, overhead, glue, finish, dowel, screw, sawing, planing, abrasive] =
        ["labour", "overhead", "glue", "finish", "dowel", "screw", "sawing", "planing", "abrasive"]
            .map(|key| reader.money(fields, key));
    let [margin, offcut_credit] = ["margin", "offcut_credit"].map(|key| reader.number(fields, key));
    Some(Rates {
        labour: labour?,
        overhead: overhead?,
        margin: margin?,
        glue: glue?,
        finish: finish?,
        dowel: dowel?,
        screw: screw?,
        sawing: sawing?,
        planing: planing?,
        abrasive: abrasive?,
        offcut_credit: offcut_credit?,
    })
}

#[cfg(test)]
mod tests {
    use crate::job::Job;

    fn job(shop: &str) -> Result<Job, Vec<crate::Fault>> {
        Job::read(&format!(
            r#"{{"shop":{shop},"sheets":[{{"name":"a","length":10,"width":10}}],"parts":[{{"name":"p","length":1,"width":1}}]}}"#
        ))
    }

    #[test]
    fn every_default_is_stated() {
        let job = job("{}").unwrap();
        for key in [
            "shop.router.bit",
            "shop.finish.coats",
            "shop.times.cut",
            "shop.rates.labour",
            "shop.sanding.grits",
        ] {
            assert!(job.assumed.iter().any(|a| a.key == key), "{key}");
        }
        assert_eq!(job.shop.reckoning.grits, super::GRITS);
        let stated = job.assumed.iter().find(|a| a.key == "shop.sanding.grits").unwrap();
        assert_eq!(stated.value, super::GRITS.map(|g| g.to_string()).join(", "));
        assert_eq!(job.shop.reckoning.rates.labour.minor(), 0);
    }

    #[test]
    fn what_is_written_counts_and_faults_come_together() {
        let job = job(r#"{"sanding":{"grits":[100,180]},"rates":{"labour":"48.50"}}"#).unwrap();
        assert_eq!(
            (&job.shop.reckoning.grits[..], job.shop.reckoning.rates.labour.minor()),
            (&[100, 180][..], 4850)
        );
        let faults =
            super::tests::job(r#"{"sanding":{"grits":[5]},"rates":{"margin":-1},"times":{"cutt":1}}"#)
                .unwrap_err();
        let keys: Vec<&str> = faults.iter().map(|f| f.key.as_str()).collect();
        assert_eq!(keys, ["shop.sanding.grits[0]", "shop.rates.margin", "shop.times"]);
    }
}
