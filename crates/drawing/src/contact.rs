//! Faces side by side: a small picture of each with its label under it.

use stripwright_plan::plan::Top;

use crate::draft::{self, lettering};
use crate::face;
use crate::font::Face;
use crate::scene::{Role, Scene, at};

/// Pictures in a row.
const COLUMNS: usize = 4;
/// Room for one picture, millimetres.
const CELL: (f64, f64) = (44.0, 54.0);

/// One sheet of pictures, in the order given; labels too long for their place are shortened.
#[must_use]
pub fn sheet(title: &str, faces: &[(String, &Top)]) -> Scene {
    let width = CELL.0 * COLUMNS as f64 + 8.0;
    let mut scene = Scene::new("faces", title, width, 0.0);
    let labels: Vec<&str> = faces.iter().map(|(label, _)| label.as_str()).collect();
    scene.description = format!("Faces side by side: {}.", labels.join("; "));
    let below = draft::head(&mut scene, title, "Each face clipped to the same outline", "") + 4.0;
    for (n, (label, top)) in faces.iter().enumerate() {
        let (column, row) = ((n % COLUMNS) as f64, (n / COLUMNS) as f64);
        let (x, y) = (4.0 + column * CELL.0, below + row * CELL.1);
        let picture = face::picture(top, format!("face-{}", n + 1), CELL.0 - 4.0);
        let room = CELL.0 - 4.0;
        scene.place(&picture, at(x + (room - picture.width) / 2.0, y + (room - picture.height) / 2.0));
        for (line, words) in Face::Medium.wrap(label, lettering::LABEL, room).into_iter().take(2).enumerate()
        {
            let baseline = y + room + 4.0 + 3.6 * line as f64;
            scene.words(Role::Label, x, baseline, lettering::LABEL, Face::Medium, words);
        }
    }
    scene.height = below + faces.len().div_ceil(COLUMNS) as f64 * CELL.1 + 4.0;
    scene
}
