//! The page's own files, kept in the binary.

use axum::body::Body;
use axum::response::Response;

use crate::reply::typed;

const HTML: &str = "text/html; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const SVG: &str = "image/svg+xml";

/// The page itself, under the key alone.
pub(crate) const INDEX: Asset = Asset { name: "", media: HTML, text: include_str!("../page/index.html") };

/// What the page loads.
pub(crate) const ASSETS: [Asset; 13] = [
    Asset { name: "bench.css", media: STYLE, text: include_str!("../page/bench.css") },
    Asset { name: "icon.svg", media: SVG, text: include_str!("../page/icon.svg") },
    Asset { name: "compare.js", media: SCRIPT, text: include_str!("../page/compare.js") },
    Asset { name: "drafts.js", media: SCRIPT, text: include_str!("../page/drafts.js") },
    Asset { name: "drawer.js", media: SCRIPT, text: include_str!("../page/drawer.js") },
    Asset { name: "face.js", media: SCRIPT, text: include_str!("../page/face.js") },
    Asset { name: "figures.js", media: SCRIPT, text: include_str!("../page/figures.js") },
    Asset { name: "form.js", media: SCRIPT, text: include_str!("../page/form.js") },
    Asset { name: "job.js", media: SCRIPT, text: include_str!("../page/job.js") },
    Asset { name: "main.js", media: SCRIPT, text: include_str!("../page/main.js") },
    Asset { name: "results.js", media: SCRIPT, text: include_str!("../page/results.js") },
    Asset { name: "talk.js", media: SCRIPT, text: include_str!("../page/talk.js") },
    Asset { name: "theme.js", media: SCRIPT, text: include_str!("../page/theme.js") },
];

/// One file of the page.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asset {
    /// Its name after the key.
    pub(crate) name: &'static str,
    media: &'static str,
    text: &'static str,
}

impl Asset {
    pub(crate) fn response(self) -> Response {
        typed(self.media, Body::from(self.text))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stripwright_drawing::ink::ink;
    use stripwright_drawing::scene::Role;

    /// One wood has the same two tones on the page and in the packet.
    #[test]
    fn the_page_shows_wood_as_the_packet_prints_it() {
        let style = ASSETS.iter().find(|asset| asset.name == "bench.css").unwrap().text;
        for (name, role) in [("--wood-0-up", Role::LaminationLight), ("--wood-0-over", Role::LaminationDark)]
        {
            let [r, g, b] = ink(role).fill.unwrap();
            let wanted = format!("{name}: #{r:02x}{g:02x}{b:02x};");
            assert!(style.contains(&wanted), "{wanted}");
        }
    }
}
