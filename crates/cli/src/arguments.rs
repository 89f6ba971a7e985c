//! What may be written on the command line.

use std::path::PathBuf;
use std::time::Duration;

use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;
use stripwright_plan::Budget;

/// Shown below the list of commands.
const AFTER: &str = "Examples:
  stripwright start job.json
  stripwright plan job.json --out packet
  stripwright audit packet

`-` stands for standard input. Data goes to standard output, words to standard error.
Exit codes: 0 done, 1 the job cannot be met or the plan does not hold, 2 bad input.";

/// Plans patterned plywood tops and plain parts: the fewest sheets, proven, and every cut.
#[derive(Debug, Parser)]
#[command(name = "stripwright", version, about, arg_required_else_help = true, after_help = AFTER)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Plan(Plan),
    Buy(Buy),
    Rip(Rip),
    Compare(Compare),
    Base(Base),
    Audit(Audit),
    Batch(Batch),
    /// Print the JSON Schema of a job file.
    #[command(after_help = "Examples:\n  stripwright schema > job.schema.json")]
    Schema,
    Start(Start),
    Bench(Bench),
    Manual(Manual),
    Completions(Completions),
}

/// A job and how long to look for its plan.
#[derive(Debug, Args)]
pub(crate) struct JobArguments {
    /// The job file; `-` reads it from standard input.
    pub(crate) job: PathBuf,
    /// Seconds after which the best plan so far is taken.
    #[arg(long, value_name = "SECONDS", default_value = "60", value_parser = seconds)]
    pub(crate) patience: Duration,
}

/// A time in seconds.
fn seconds(text: &str) -> Result<Duration, String> {
    let wanted = || "a number of seconds is wanted, such as 60 or 0.5".to_string();
    let seconds = text.parse().map_err(|_| wanted())?;
    Duration::try_from_secs_f64(seconds).map_err(|_| wanted())
}

/// Plan a job and write the packet: plan, drawings and lists.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  stripwright plan job.json --out packet\n  stripwright plan job.json --out packet --replace --both\n  stripwright plan - --json < job.json > plan.json"
)]
pub(crate) struct Plan {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// The folder to write; it must not exist yet.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Show lengths in both systems, the job's own first.
    #[arg(long)]
    pub(crate) both: bool,
    /// Put the new packet in the place of an existing one; a folder that holds anything else is kept.
    #[arg(long, requires = "out")]
    pub(crate) replace: bool,
    /// Say in sentences what binds: the price each piece carries, and the nearest change that saves a sheet.
    #[arg(long)]
    pub(crate) explain: bool,
    /// Print the plan as JSON instead of the summary.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Say what to buy.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  stripwright buy job.json\n  stripwright buy - --json < job.json")]
pub(crate) struct Buy {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// Print JSON instead of a table.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Draw a rip diagram of every layout.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  stripwright rip job.json --out rips")]
pub(crate) struct Rip {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// The folder to write; it must not exist yet.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Show lengths in both systems, the job's own first.
    #[arg(long)]
    pub(crate) both: bool,
    /// Put the new drawings in the place of older ones; a folder that holds anything else is kept.
    #[arg(long)]
    pub(crate) replace: bool,
}

/// Compare patterns of a top, each with a plan of the whole job of its own, and the job's own pattern first.
///
/// The job's own pattern and the cheapest of the others are searched as long as `plan` searches, the rest less; the table says
/// which plans are proven to be the cheapest.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  stripwright compare job.json\n  stripwright compare job.json --patterns chevron,herringbone --angles 30,45 --out faces"
)]
pub(crate) struct Compare {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// Name of the top; the job's first when left out.
    #[arg(long, value_name = "NAME")]
    pub(crate) top: Option<String>,
    /// Patterns, with commas between; all when left out.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub(crate) patterns: Vec<String>,
    /// Lamination angles in degrees, with commas between; the top's own when left out, 45 where it has none.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub(crate) angles: Vec<f64>,
    /// Band widths, with commas between; the top's own when left out, an eighth of its length where it has none. A pattern of
    /// the top's own kind keeps all its measures that are not asked for otherwise.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub(crate) bands: Vec<String>,
    /// The folder to write a picture of all faces to; it must not exist yet.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Put the new picture in the place of an older one; a folder that holds anything else is kept.
    #[arg(long, requires = "out")]
    pub(crate) replace: bool,
    /// Print JSON instead of a table.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Say how to set the saw, bore and join the legs and rungs of every base, in shop order, and which boards to buy.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  stripwright base job.json\n  stripwright base - --json < job.json")]
pub(crate) struct Base {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// Print JSON instead of tables and steps.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Check a plan without the solver: cuts, counts, money and the proof.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  stripwright audit packet\n  stripwright audit - --json < plan.json")]
pub(crate) struct Audit {
    /// A packet's folder, or a plan.json; `-` reads a plan from standard input.
    pub(crate) plan: PathBuf,
    /// Print JSON instead of a table.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Millions of steps that a search takes at most, unless something else is said.
fn usual_work() -> u32 {
    u32::try_from(Budget::default().work / 1_000_000).unwrap_or(u32::MAX)
}

/// Plan many jobs, one a line, and print their plans, one a line, in the same order.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  stripwright batch jobs.jsonl > plans.jsonl\n  stripwright batch - --threads 2 < jobs.jsonl"
)]
pub(crate) struct Batch {
    /// A file with one job a line, as JSON; `-` reads standard input. Offcuts that a job names lie beside it.
    pub(crate) jobs: PathBuf,
    /// How many jobs are planned at once; as many as the machine has processors when left out.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(crate) threads: Option<u16>,
    /// The number of the first line, where the lines are a part of more: faults name lines by it.
    #[arg(long, value_name = "NUMBER", default_value_t = 1, hide_default_value = true)]
    pub(crate) first_line: u32,
    /// How much each job is searched, in millions of steps; counted and not timed, so that plans stay the same.
    #[arg(long, value_name = "MILLIONS", default_value_t = usual_work(), value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(crate) work: u32,
}

/// Write a starter job to a new file.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  stripwright start job.json")]
pub(crate) struct Start {
    /// The file to write; it must not exist yet.
    pub(crate) file: PathBuf,
}

/// Serve a page, for this machine only, that shows face and bill while a job changes.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  stripwright bench job.json --out shop\n  stripwright bench --no-open --port 8400"
)]
pub(crate) struct Bench {
    /// The job file to open and to save to; it need not exist yet.
    pub(crate) job: Option<PathBuf>,
    /// The folder that the page may write the packet to, as `packet` in it.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// The port to listen on; when left out, one that goes with the job file, where it is free, else any. Drafts are kept by
    /// the browser for each port.
    #[arg(long)]
    pub(crate) port: Option<u16>,
    /// Print the address without opening it in a browser.
    #[arg(long)]
    pub(crate) no_open: bool,
}

/// Print the manual, or one command's page of it, for `man`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  stripwright manual > stripwright.1\n  stripwright manual plan > stripwright-plan.1"
)]
pub(crate) struct Manual {
    /// The command; the manual's first page when left out.
    pub(crate) page: Option<String>,
}

/// Print what a shell needs to complete the words of a command.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  stripwright completions bash > ~/.local/share/bash-completion/completions/stripwright"
)]
pub(crate) struct Completions {
    /// The shell.
    pub(crate) shell: Shell,
}
