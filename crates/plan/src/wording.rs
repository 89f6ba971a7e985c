//! Every sentence that tells a maker what is wrong, in one place.
//!
//! Each says what was found, what is allowed, and what to do. The place and the key stand in front of it.

use stripwright_units::{Length, Money, System};

use crate::words;

/// A known word close enough to `found` to be what was meant.
#[must_use]
pub fn nearest<'w>(found: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let found = found.to_lowercase();
    known
        .into_iter()
        .map(|word| (strsim::damerau_levenshtein(&found, &word.to_lowercase()), word))
        .filter(|(distance, word)| *distance <= 1 + word.chars().count() / 3)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

/// "`a`", "`a` and `b`", "`a`, `b` and `c`".
#[must_use]
pub fn list<S: AsRef<str>>(words: &[S], joiner: &str) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("`{}`", w.as_ref())).collect();
    if quoted.is_empty() { "nothing".to_string() } else { words::join_by(&quoted, joiner) }
}

/// "1 strip", "3 strips".
#[must_use]
pub fn count(n: impl Into<u64>, one: &str, many: &str) -> String {
    let n = n.into();
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Text as found, short enough for a sentence.
#[must_use]
pub fn short(text: &str) -> String {
    let mut chars = text.chars();
    let mut head: String = chars.by_ref().take(40).collect();
    if chars.next().is_some() {
        head.push('…');
    }
    head
}

/// A sentence that speaks of millimetres, with its lengths in the job's own units.
pub(crate) fn in_units(sentence: &str, system: System) -> String {
    if system == System::Metric {
        return sentence.to_string();
    }
    let mut out = String::new();
    let mut rest = sentence;
    while let Some(at) = rest.find(" mm") {
        let (before, after) = (&rest[..at], &rest[at + 3..]);
        let from = before
            .rfind(|c: char| !c.is_ascii_digit() && c != '.')
            .map_or(0, |at| at + before[at..].chars().next().map_or(1, char::len_utf8));
        let unit = !after.starts_with(|c: char| c.is_alphanumeric() || c == '²');
        match Length::parse(&format!("{} mm", &before[from..]), System::Metric) {
            Ok(length) if unit => {
                out.push_str(&before[..from]);
                out.push_str(&length.show(system));
            }
            _ => {
                out.push_str(before);
                out.push_str(" mm");
            }
        }
        rest = after;
    }
    out + rest
}

pub(crate) fn not_json(reason: &str) -> String {
    let reason = reason.trim_end_matches('.');
    let mut chars = reason.chars();
    let lower: String = chars.next().into_iter().flat_map(char::to_lowercase).chain(chars).collect();
    format!(
        "the file is not JSON here ({lower}); mend this and run again, since nothing after it could be read"
    )
}

pub(crate) fn empty_file() -> String {
    "the job is empty; write a starter with `stripwright start job.json`".to_string()
}

pub(crate) fn too_many_bytes(found: usize, most: usize) -> String {
    format!("the job is {found} bytes long, and at most {most} are read; split it into several jobs")
}

pub(crate) fn unknown_key(found: &str, shape: &str, known: &[&str]) -> String {
    let hint = match nearest(found, known.iter().copied()) {
        Some(word) => format!("did you mean `{word}`? It has"),
        None => "it has".to_string(),
    };
    format!("`{}` is not a key of this {shape}; {hint} {}", short(found), list(known, "and"))
}

pub(crate) fn twice(key: &str) -> String {
    format!("`{}` is written twice in the same object; keep one", short(key))
}

pub(crate) fn missing(key: &str, about: &str) -> String {
    format!("`{key}` is missing; it is needed here. {about}")
}

pub(crate) fn wrong_kind(found: &str, wanted: &str) -> String {
    format!("found {found}, where {wanted} is allowed; write that instead")
}

pub(crate) fn zero_length() -> String {
    "found a length of zero, where one above zero is allowed; write the real size".to_string()
}

pub(crate) fn outside(found: &str, least: &str, most: &str) -> String {
    format!("found {}, where {least} to {most} is allowed; choose a value in that range", short(found))
}

pub(crate) fn not_a_number(found: &str) -> String {
    format!("`{}` does not read as a number; write for example 45 or 22.5", short(found))
}

pub(crate) fn not_a_count(found: &str, least: u32, most: u32) -> String {
    format!("found {}, where a whole number from {least} to {most} is allowed", short(found))
}

pub(crate) fn not_a_word(found: &str, words: &[&str]) -> String {
    let hint = match nearest(found, words.iter().copied()) {
        Some(word) => format!("; did you mean `{word}`?"),
        None => String::new(),
    };
    format!("found `{}`, where {} is allowed{hint}", short(found), list(words, "or"))
}

pub(crate) fn empty_text() -> String {
    "found empty text; give it a name".to_string()
}

pub(crate) fn long_text(found: usize, most: usize) -> String {
    format!("found a text of {found} characters, where at most {most} are allowed; shorten it")
}

/// Whether a character is none to be seen but tells a terminal or a page what to do: control characters, and those that
/// turn round the direction of what follows them (Unicode Standard Annex 9, explicit formatting).
#[must_use]
pub fn commands(c: char) -> bool {
    c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

pub(crate) fn control_text() -> String {
    "the text holds a line break, a control character or one that turns round the direction of writing; write it on one \
     line without"
        .to_string()
}

pub(crate) fn control_in_json(c: char) -> String {
    format!(
        "the file is not JSON here (the control character U+{:04X} stands in it as it is); take it out",
        u32::from(c)
    )
}

pub(crate) fn long_list(found: usize, most: usize) -> String {
    format!(
        "found a list of {found}, where at most {most} are allowed; give like things one entry with a `count`"
    )
}

pub(crate) fn too_many_in_all(what: &str, most: u32) -> String {
    format!(
        "with these, the {what} are more than {most} in all, the most that one job may ask for; split it into several jobs"
    )
}

pub(crate) fn like_dust(name: &str, of: &str, most: i64) -> String {
    format!(
        "`{}` is so short that more than {most} would lie side by side on one `{}`, the most there may be; check the units, \
         or ask for fewer",
        short(name),
        short(of)
    )
}

pub(crate) fn like_sand(part: &str, sheet: &str, most: usize) -> String {
    format!(
        "`{}` is so small that one `{}` could hold more than {most} parts, the most on one sheet; check the units, or ask for \
         fewer",
        short(part),
        short(sheet)
    )
}

pub(crate) fn wrong_pair(found: usize) -> String {
    format!(
        "found a list of {found}, where two lengths are allowed; write for example [\"600 mm\", \"200 mm\"]"
    )
}

pub(crate) fn empty_list(what: &str) -> String {
    format!("the list is empty; give at least one {what}")
}

pub(crate) fn nothing_to_make() -> String {
    "the job asks for nothing; give `tops`, `parts`, `sticks` or `bases` at least one entry".to_string()
}

pub(crate) fn kerf_too_wide(kerf: Length, widest: Length, system: System) -> String {
    format!(
        "found a kerf of {}, and no blade cuts more than {} at once; look at the unit",
        kerf.show(system),
        widest.show(system)
    )
}

pub(crate) fn no_price(what: &str, name: &str, dear: &str, price: Money) -> String {
    format!(
        "`{}` has no price, and `{}` costs {price}: give this {what} its price, 0 if it is at hand; or leave out every \
         price, and sheets and sticks are counted",
        short(name),
        short(dear)
    )
}

pub(crate) fn same_name(name: &str, what: &str, first: &str) -> String {
    format!(
        "`{}` is already the name of a {what} ({first}); every {what} needs a name of its own",
        short(name)
    )
}

pub(crate) fn no_such_name(name: &str, what: &str, known: &[&str]) -> String {
    if known.is_empty() {
        return format!(
            "no {what} is called `{}`, and the job has none; add one, or leave this out",
            short(name)
        );
    }
    let hint = match nearest(name, known.iter().copied()) {
        Some(word) => format!("; did you mean `{word}`?"),
        None => String::new(),
    };
    format!(
        "no {what} is called `{}`; there {} {}{hint}",
        short(name),
        if known.len() == 1 { "is" } else { "are" },
        list(known, "and")
    )
}

pub(crate) fn no_such_thickness(found: Length, known: &[Length], system: System) -> String {
    let known: Vec<String> = known.iter().map(|l| l.show(system)).collect();
    if known.is_empty() {
        return format!(
            "no sheet says that it is {} thick; give the sheets a `thickness`",
            found.show(system)
        );
    }
    format!(
        "no sheet is {} thick; the sheets are {} thick: change this or add such a sheet",
        found.show(system),
        list(&known, "and")
    )
}

/// What to do with a blank wider than the clamps.
pub(crate) const WIDER_THAN_CLAMPS: &str =
    "join clamps end to end, pull it together with straps round its edge, or drive wedges against stops";

pub(crate) fn which_thickness() -> String {
    "`sheet_thickness` is missing, and the sheets are not all of one thickness; say which it is".to_string()
}

pub(crate) fn sheet_too_large(most: i128) -> String {
    format!(
        "a sheet this long and wide is more than {most} square metres, the most there may be; check the units of both"
    )
}

pub(crate) fn trim_eats_sheet(over: Length, side: &str, system: System) -> String {
    format!(
        "the trims leave nothing of the sheet's {side}: they are {} too much; make them smaller",
        over.show(system)
    )
}

pub(crate) fn tolerance_too_wide(thickness: Option<Length>, system: System) -> String {
    match thickness {
        Some(thickness) => format!(
            "no sheet comes more than a fifth thinner than it is sold as; at most {} is allowed for {}",
            Length::from_nm(thickness.nm() / 5).show(system),
            thickness.show(system)
        ),
        None => {
            "a tolerance says nothing without the `thickness` that it belongs to; give that too".to_string()
        }
    }
}

pub(crate) fn corner_too_large(found: Length, most: Length, system: System) -> String {
    format!(
        "the corner radius of {} is more than half of the shorter side; at most {} is allowed",
        found.show(system),
        most.show(system)
    )
}

pub(crate) fn grain_and_turn() -> String {
    "`grain` is \"length\" while `may_turn` is true; these contradict each other: keep one".to_string()
}

pub(crate) fn other_format(found: &str) -> String {
    format!("found format {}, where 1 is the only one there is; write 1", short(found))
}

pub(crate) fn one_of(first: &str, second: &str, found_both: bool) -> String {
    if found_both {
        format!("`{first}` and `{second}` are both given; keep one of them, the other follows")
    } else {
        format!("neither `{first}` nor `{second}` is given; write one of them")
    }
}

pub(crate) fn uneven_measures(thickness: Length, system: System) -> String {
    format!(
        "sheets of {} measure differently, so their strips would not make an even slab; give the thinner kind a \
         `thickness` of its own",
        thickness.show(system)
    )
}

pub(crate) fn uneven_offcut(
    name: &str,
    thickness: Length,
    other: &str,
    other_thickness: Length,
    system: System,
) -> String {
    format!(
        "`{}` is {} thick and `{}` {}, so strips of both would not make an even slab; give what the offcut is `measured` at, \
         or a `thickness` of its own",
        short(name),
        thickness.show(system),
        short(other),
        other_thickness.show(system)
    )
}

pub(crate) fn priced_among_counted(name: &str) -> String {
    format!(
        "offcut `{}` has a price, and the job's sheets have none and are counted; leave it out, or give every sheet of the \
         job its price",
        short(name)
    )
}

pub(crate) fn no_thickness(name: &str) -> String {
    format!("sheet `{}` has no `thickness`; a lamination needs one, so give it", short(name))
}

pub(crate) fn piece_without_sheet(name: &str, size: &str) -> String {
    format!(
        "`{name}` ({size}) may be cut from no sheet at all; allow at least one, or give one its thickness"
    )
}

pub(crate) fn piece_against_limits(name: &str, size: &str, sheet: &str) -> String {
    format!(
        "`{name}` ({size}) would fit sheet `{sheet}`, but the saw's limits (fence_reach, longest_rip, smallest_rip) \
         rule out every way to cut it; ease one of them or let it turn"
    )
}

pub(crate) fn piece_too_large(
    name: &str,
    size: &str,
    sheet: &str,
    usable: &str,
    longer: Length,
    wider: Length,
    system: System,
) -> String {
    let over = match (longer.is_positive(), wider.is_positive()) {
        (true, true) => format!("{} too long and {} too wide", longer.show(system), wider.show(system)),
        (true, false) => format!("{} too long", longer.show(system)),
        _ => format!("{} too wide", wider.show(system)),
    };
    format!(
        "`{name}` ({size}) fits no sheet that it may be cut from; for the nearest, `{sheet}` with {usable} inside its \
         trim, it is {over}: make it that much smaller, or add a sheet that much larger"
    )
}

pub(crate) fn limits_too_small(what: &str, more: &[(String, u32)], shown: bool) -> String {
    let how = if shown { "cannot hold" } else { "were not found to hold" };
    let change: Vec<String> = more.iter().map(|(name, n)| format!("{n} more of `{name}`")).collect();
    if change.is_empty() {
        format!(
            "the {what} within the limits {how} everything that is asked for; raise a `limit` or add to the {what}"
        )
    } else {
        format!(
            "the {what} within the limits {how} everything that is asked for; {} would do",
            change.join(" or ")
        )
    }
}

pub(crate) fn stick_too_long(
    name: &str,
    length: Length,
    longest: Length,
    count: u32,
    system: System,
) -> String {
    format!(
        "the {} ({} of them) is {} long, and the longest lumber it may be cut from is {}, {} too short; give longer \
         `lumber`",
        short(name),
        count,
        length.show(system),
        longest.show(system),
        (length - longest).show(system)
    )
}

pub(crate) fn no_lumber_yields(name: &str) -> String {
    format!("no lumber of the job can be sawn into the {name}; give `lumber` with a larger `section`")
}

pub(crate) fn no_slab_yields(cover: &str) -> String {
    format!("no slab that the shop can make yields {cover}; ease a limit of planer, clamps, saw or sheet")
}

pub(crate) fn too_fine(sheet: &str) -> String {
    format!(
        "the sizes on sheet `{sheet}` have no common measure coarse enough to search over; round them to a tenth of \
         a millimetre or a 64th of an inch"
    )
}

pub(crate) fn out_of_range(what: &str) -> String {
    format!("the {what} is more than can be computed exactly; ask for fewer or smaller ones, in several jobs")
}

pub(crate) fn own_audit_failed(objection: &str) -> String {
    format!("a plan was found but it fails its own audit, so it is not handed out: {objection}")
}

/// Which pieces of a face no slab yields, and what would do for all of them.
pub(crate) fn no_slab(top: &str, worst: usize, others: usize, why: &str) -> String {
    let others = match others {
        0 => String::new(),
        n => format!(" (and {} for the same reason)", count(n as u64, "other", "others")),
    };
    format!("{top}: piece {worst} of the face{others} cannot be cut from any slab: {why}")
}

pub(crate) fn strip_too_long(strip: Length, longest: Length, system: System) -> String {
    format!(
        "its longest strip is {} and the sheets give at most {}, {} too little; use a longer sheet, or a shorter outline",
        strip.show(system),
        longest.show(system),
        (strip - longest).show(system)
    )
}

pub(crate) fn slab_too_broad(breadth: Length, reach: Length, system: System) -> String {
    format!(
        "its slab is {} broad and `shop.clamp.reach` is {}; clamps that open {} more would do",
        breadth.show(system),
        reach.show(system),
        (breadth - reach).show(system)
    )
}

pub(crate) fn cut_too_long(cut: Length, reach: Length, system: System) -> String {
    format!(
        "the cut across its slab is {} long and `shop.bias_saw.reach` is {}; a saw that reaches {} more would do, or a \
         steeper angle",
        cut.show(system),
        reach.show(system),
        (cut - reach).show(system)
    )
}

pub(crate) fn strip_too_thick(strip: Length, width: Length, system: System) -> String {
    format!(
        "one strip is {} thick and `shop.planer.width` is {}; a planer {} wider would do",
        strip.show(system),
        width.show(system),
        (strip - width).show(system)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_speak_of_inches_where_the_job_does() {
        let text = "The side is 76.2 mm, not 2.5 mm² of 3 kinds; use 71.4375 mm or 12mm.";
        let inches = in_units(text, System::Inch);
        assert_eq!(inches, "The side is 3 in, not 2.5 mm² of 3 kinds; use 2 13/16 in or 12mm.");
        assert_eq!(in_units(text, System::Metric), text);
    }
}
