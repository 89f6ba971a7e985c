//! The outline of a top and the pattern of its face.

use stripwright_pattern::{Across, BandSize, Centre, Lay, Outline, Pattern, Side};
use stripwright_units::{Angle, Length};

use crate::reader::{Fields, Reader};
use crate::wording;

pub(super) fn read_outline(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Outline> {
    match fields.kind() {
        "round" => Some(Outline::Round { diameter: reader.length(fields, "diameter")? }),
        "polygon" => {
            let sides = reader.count(fields, "sides");
            let [flats, corners] = ["across_flats", "across_corners"].map(|key| reader.length(fields, key));
            check_one_of(reader, fields, "across_flats", "across_corners");
            let size = flats.map(Across::Flats).or(corners.map(Across::Corners));
            Some(Outline::Polygon { sides: sides?, size: size? })
        }
        "points" => Some(Outline::Free { points: reader.points(fields, "points") }),
        kind => {
            let [length, width] = ["length", "width"].map(|key| reader.length(fields, key));
            if kind == "oval" {
                return Some(Outline::Oval { length: length?, width: width? });
            }
            let radius = reader.length(fields, "radius");
            let (length, width, radius) = (length?, width?, radius?);
            let most = Length::from_nm(length.min(width).nm() / 2);
            if radius > most {
                let text = wording::corner_too_large(radius, most, reader.system);
                reader.fault(fields.place, fields.key("radius"), text);
            }
            if radius.is_positive() {
                Some(Outline::RoundedRectangle { length, width, radius })
            } else {
                Some(Outline::Rectangle { length, width })
            }
        }
    }
}

pub(super) fn read_pattern(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Pattern> {
    let angle = |reader: &mut Reader<'_>, key| reader.number(fields, key).map(Angle::degrees);
    match fields.kind() {
        "straight" => Some(Pattern::Straight { angle: angle(reader, "angle")? }),
        "sunburst" => {
            let wedges = reader.count(fields, "wedges");
            Some(Pattern::Sunburst { wedges: wedges?, lay: read_lay(reader, fields)? })
        }
        kind @ ("chevron" | "diamond") => {
            let angle = angle(reader, "angle");
            let width = reader.length(fields, "band").map(BandSize::Width);
            let bands = width.or(reader.count(fields, "bands").map(BandSize::Number));
            let neither = ["band", "bands"].iter().all(|key| fields.written(key).is_none());
            if kind == "diamond" {
                if !neither {
                    check_one_of(reader, fields, "band", "bands");
                }
                return Some(Pattern::Diamond { angle: angle?, bands });
            }
            check_one_of(reader, fields, "band", "bands");
            let centre = reader.word(fields, "centre").map(|word| match word {
                "band" => Centre::Band,
                _ => Centre::Seam,
            });
            Some(Pattern::Chevron { angle: angle?, bands: bands?, centre })
        }
        "basket weave" => {
            let lay = read_lay(reader, fields);
            check_one_of(reader, fields, "width", "laminations");
            let width = reader.length(fields, "width").map(Side::Given);
            let width = width.or(reader.count(fields, "laminations").map(Side::Laminations));
            let blocks = reader.count(fields, "blocks");
            let turn = angle(reader, "turn");
            Some(Pattern::BasketWeave { width: width?, blocks: blocks?, lay: lay?, turn: turn? })
        }
        kind => {
            let lay = read_lay(reader, fields);
            let [width, length] = ["width", "length"].map(|key| reader.length(fields, key).map(Side::Given));
            let stacked = reader.count(fields, "laminations").map(Side::Laminations);
            let others =
                (kind == "running bond").then(|| (reader.count(fields, "set_over"), angle(reader, "turn")));
            // Laminations stack along the short side when they lie along the block, along the long side otherwise.
            let (width, length) = match lay? {
                Lay::Along => {
                    check_one_of(reader, fields, "width", "laminations");
                    (width.or(stacked), length)
                }
                Lay::Across => {
                    check_one_of(reader, fields, "length", "laminations");
                    (width, length.or(stacked))
                }
            };
            let other = if lay? == Lay::Along { ("length", length) } else { ("width", width) };
            if other.1.is_none() && fields.written(other.0).is_none() {
                let text = wording::missing(other.0, "It is the side of a block along its laminations.");
                reader.fault(fields.place, fields.key(other.0), text);
            }
            let (width, length, lay) = (width?, length?, lay?);
            Some(match others {
                None => Pattern::Herringbone { width, length, lay },
                Some((set_over, turn)) => {
                    Pattern::RunningBond { width, length, lay, offset: (1, set_over?), turn: turn? }
                }
            })
        }
    }
}

fn read_lay(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Lay> {
    reader.word(fields, "lay").map(|word| if word == "across" { Lay::Across } else { Lay::Along })
}

/// Sees that exactly one of two keys is given.
fn check_one_of(reader: &mut Reader<'_>, fields: &Fields<'_>, first: &str, second: &str) {
    let given = [first, second].map(|key| fields.written(key).is_some());
    if given[0] == given[1] {
        reader.fault(fields.place, fields.key(first), wording::one_of(first, second, given[0]));
    }
}
