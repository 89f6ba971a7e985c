//! The packet as one self-contained page: typeface, style and drawings inside, no script, nothing fetched.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::packet::FOOTER;
use crate::packet::content::{Block, Document, Section, StepBlock};
use crate::scene::Scene;
use crate::table::{Align, Table};
use crate::{face, writer};

/// The page.
pub fn page(document: &Document, language: &str) -> String {
    let mut drawings = 0;
    let page = html! {
        (DOCTYPE)
        html lang=(language) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (writer::clean(&document.title)) }
                style { (PreEscaped(writer::typeface())) (PreEscaped(writer::style())) (PreEscaped(include_str!("packet.css"))) }
            }
            body {
                header {
                    h1 { (writer::clean(&document.title)) }
                    p class="subtitle" { (writer::clean(&document.subtitle)) }
                    nav {
                        @for section in &document.sections {
                            a href={ "#" (section.id) } { (section.title) }
                        }
                    }
                }
                main {
                    @for (i, section) in document.sections.iter().enumerate() { (part(section, i == 0, &mut drawings)) }
                }
                footer { p { (FOOTER) } }
            }
        }
    };
    page.into_string()
}

fn part(section: &Section, first: bool, drawings: &mut usize) -> Markup {
    html! {
        section id=(section.id) class=[first.then_some("first")] {
            h2 { (section.title) }
            @for block in &section.blocks { (piece(block, drawings)) }
        }
    }
}

fn piece(block: &Block, drawings: &mut usize) -> Markup {
    match block {
        Block::Text(text) => html! { p { (writer::clean(text)) } },
        Block::Points(points) => html! { ul { @for point in points { li { (writer::clean(point)) } } } },
        Block::Facts(list) => facts(list),
        Block::Table(list) => table(list),
        Block::Drawing(scene) => figure(scene, drawings),
        Block::Step(step) => self::step(step),
    }
}

fn facts(list: &[(String, String)]) -> Markup {
    html! {
        dl { @for (name, value) in list { div { dt { (writer::clean(name)) } dd { (writer::clean(value)) } } } }
    }
}

fn table(list: &Table) -> Markup {
    let side = |i: usize| (list.columns[i].align == Align::Right).then_some("figures");
    html! {
        div class="table" {
            table {
                @if !list.title.is_empty() { caption { (writer::clean(&list.title)) } }
                thead { tr { @for (i, column) in list.columns.iter().enumerate() {
                    th scope="col" class=[side(i)] { (column.heading) }
                } } }
                tbody {
                    @for (n, row) in list.rows.iter().enumerate() {
                        tr class=[(list.sum && n + 1 == list.rows.len()).then_some("sum")] {
                            @for (i, cell) in row.iter().enumerate() { td class=[side(i)] { (writer::clean(cell)) } }
                        }
                    }
                }
            }
        }
    }
}

fn figure(scene: &Scene, drawings: &mut usize) -> Markup {
    let wide = scene.width > face::PAPER.0 + 0.1;
    *drawings += 1;
    html! {
        figure class=(if wide { "wide" } else { "tall" }) id=(scene.name) style={ "--paper:" (writer::number(scene.width)) "mm" } tabindex="0" {
            (PreEscaped(writer::inline(scene, *drawings)))
            // On a narrow screen the drawing's own words are too small to read.
            figcaption aria-hidden="true" { strong { (writer::clean(&scene.title)) } " " (writer::clean(&scene.description)) }
        }
    }
}

fn step(step: &StepBlock) -> Markup {
    let id = format!("step-{}", step.number);
    html! {
        article class="step" id=(id) {
            h3 {
                span class="number" { (step.number) }
                label { input type="checkbox"; span class="title" { (writer::clean(&step.title)) } }
                @if !step.time.is_empty() { span class="time" { (step.time) } }
            }
            div class="body" {
                @if !step.of.is_empty() { p class="of" { "for " (writer::clean(&step.of)) } }
                @for text in &step.text { p { (writer::clean(text)) } }
                @if !step.facts.is_empty() { (facts(&step.facts)) }
                @if let Some(runs) = &step.runs { (table(runs)) }
                @for (title, text) in &step.cautions {
                    aside { p { strong class="word" { "Caution" } " " strong { (title) } } @for t in text { p { (t) } } }
                }
                @if !step.reminder.is_empty() { p class="again" { (step.reminder) } }
                @if !step.drawings.is_empty() { p class="again" { (writer::clean(&step.drawings)) } }
            }
        }
    }
}
