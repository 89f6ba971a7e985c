//! `stripwright manual` and `stripwright completions`: both are made from the arguments themselves.

use clap::CommandFactory;
use stripwright_plan::wording;

use crate::arguments::{Arguments, Completions, Manual};
use crate::failure::{Failure, say};

pub(crate) fn run(arguments: &Manual) -> Result<(), Failure> {
    let mut whole = Arguments::command();
    whole.build();
    let page = match &arguments.page {
        None => whole,
        Some(name) => match whole.find_subcommand(name) {
            Some(command) => command.clone().display_name(format!("stripwright-{name}")),
            None => {
                let names: Vec<&str> = whole.get_subcommands().map(clap::Command::get_name).collect();
                return Err(Failure::Input(format!(
                    "`{name}` is not a command; there are {}.",
                    wording::list(&names, "and")
                )));
            }
        },
    };
    let mut out = Vec::new();
    clap_mangen::Man::new(page)
        .render(&mut out)
        .map_err(|error| Failure::Input(format!("the manual could not be written: {error}.")))?;
    say(&String::from_utf8_lossy(&out))
}

pub(crate) fn completions(arguments: &Completions) -> Result<(), Failure> {
    let mut out = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "stripwright", &mut out);
    say(&String::from_utf8_lossy(&out))
}
