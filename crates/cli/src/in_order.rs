//! Lines worked on by many threads at once, answered in the order they came in, with only so many held at a time.

use std::io::{BufRead, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, sync_channel};

/// Lines held for each thread: enough that one slow line does not leave the others idle for long, and few enough that
/// memory does not grow with the number of lines.
const HELD_PER_THREAD: usize = 16;

/// One line of the input.
pub(crate) struct Line {
    /// From 1.
    pub(crate) number: u64,
    /// Its bytes, without the line break.
    pub(crate) bytes: Vec<u8>,
    /// It was longer than allowed, and the rest of it was passed over.
    pub(crate) cut_off: bool,
}

/// Why not all lines were answered.
#[derive(Debug)]
pub(crate) enum Ended {
    /// The next line could not be read.
    Reading(std::io::Error),
    /// An answer could not be written.
    Writing(std::io::Error),
}

/// Answers every line with one line, in order.
///
/// `work` answers a line; should it panic, `broken` does. Lines longer than `longest` bytes are cut off. When an answer
/// cannot be written, nothing more is begun.
///
/// # Errors
/// The first line that could not be read (all before it are answered) or answer that could not be written.
pub(crate) fn answer_in_order(
    mut input: impl BufRead,
    mut output: impl Write + Send,
    threads: usize,
    longest: usize,
    work: impl Fn(&Line) -> String + Sync,
    broken: impl Fn(&Line) -> String + Sync,
) -> Result<(), Ended> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|error| Ended::Reading(std::io::Error::other(error)))?;
    let stopped = &AtomicBool::new(false);
    let (work, broken) = (&work, &broken);
    // Answers to come, in the order of their lines. It is what holds the reader back.
    let (to_come, coming) = sync_channel::<Receiver<String>>(threads * HELD_PER_THREAD);
    std::thread::scope(|scope| {
        let writer = scope.spawn(move || {
            let written = write_all(&coming, &mut output);
            stopped.store(true, Ordering::Relaxed);
            written
        });
        // A fifo, so that the line that is waited for is always among those begun first.
        let read = pool.in_place_scope_fifo(|workers| {
            let mut number = 0;
            while let Some(line) = next_line(&mut input, number + 1, longest)? {
                number += 1;
                let (answer, receiver) = sync_channel(1);
                if to_come.send(receiver).is_err() {
                    // The writer has ended and says why.
                    return Ok(());
                }
                workers.spawn_fifo(move |_| {
                    if !stopped.load(Ordering::Relaxed) {
                        let said = catch_unwind(AssertUnwindSafe(|| work(&line)));
                        // Nobody waits for it when the writer has ended.
                        let _ = answer.send(said.unwrap_or_else(|_| broken(&line)));
                    }
                });
            }
            Ok(())
        });
        drop(to_come);
        let written = writer.join().unwrap_or_else(|_| Err(std::io::Error::other("the writer panicked")));
        written.map_err(Ended::Writing)?;
        read.map_err(Ended::Reading)
    })
}

fn write_all(coming: &Receiver<Receiver<String>>, output: &mut impl Write) -> std::io::Result<()> {
    for answer in coming {
        // A worker that is gone without an answer was stopped.
        let Ok(mut line) = answer.recv() else { break };
        line.push('\n');
        output.write_all(line.as_bytes())?;
        output.flush()?;
    }
    Ok(())
}

/// Reads one line; never more than `longest` bytes of it are kept.
fn next_line(input: &mut impl BufRead, number: u64, longest: usize) -> std::io::Result<Option<Line>> {
    let mut bytes = Vec::new();
    let read = std::io::Read::take(&mut *input, longest as u64 + 1).read_until(b'\n', &mut bytes)?;
    if read == 0 {
        return Ok(None);
    }
    if bytes.last() == Some(&b'\n') {
        bytes.pop();
    }
    let cut_off = bytes.len() > longest;
    if cut_off {
        input.skip_until(b'\n')?;
    }
    Ok(Some(Line { number, bytes, cut_off }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Cursor;
    use std::sync::atomic::AtomicUsize;
    use std::time::Duration;

    fn told(line: &Line) -> String {
        format!(
            "{} {}{}",
            line.number,
            String::from_utf8_lossy(&line.bytes),
            if line.cut_off { "..." } else { "" }
        )
    }

    fn answers(input: &[u8], threads: usize, work: impl Fn(&Line) -> String + Sync) -> String {
        let mut output = Vec::new();
        answer_in_order(Cursor::new(input), &mut output, threads, 5, work, |line| {
            format!("{} broke", line.number)
        })
        .unwrap();
        String::from_utf8(output).unwrap()
    }

    #[test]
    fn every_line_has_one_answer_whatever_it_holds() {
        let input = b"one\n\n\xff\xfe\nfives\nsixsix\nlonglonglong\nlast";
        let expected = "1 one\n2 \n3 \u{fffd}\u{fffd}\n4 fives\n5 sixsix...\n6 longlo...\n7 last\n";
        assert_eq!(answers(input, 1, told), expected);
        assert_eq!(answers(b"", 2, told), "");
        assert_eq!(answers(b"\n", 2, told), "1 \n");
    }

    #[test]
    fn answers_come_in_order_though_early_lines_take_longest() {
        let input: String = (0..200).map(|n| format!("{n}\n")).collect();
        let slow_first = |line: &Line| {
            std::thread::sleep(Duration::from_millis(if line.number % 20 == 1 { 10 } else { 0 }));
            told(line)
        };
        assert_eq!(answers(input.as_bytes(), 8, slow_first), answers(input.as_bytes(), 1, told));
    }

    #[test]
    fn a_panic_is_one_line_s_own_affair() {
        let work = |line: &Line| if line.number == 2 { panic!("a slip on purpose") } else { told(line) };
        assert_eq!(answers(b"a\nb\nc\n", 2, work), "1 a\n2 broke\n3 c\n");
    }

    #[test]
    fn only_so_many_lines_are_held() {
        // The first line waits until the reader is held back: then as many lines were begun as may be held, no more.
        let begun = AtomicUsize::new(0);
        let input = "x\n".repeat(1000);
        let work = |line: &Line| {
            begun.fetch_add(1, Ordering::Relaxed);
            if line.number == 1 {
                std::thread::sleep(Duration::from_millis(200));
                let begun = begun.load(Ordering::Relaxed);
                assert!(begun <= 2 * HELD_PER_THREAD + 3, "{begun} lines at once");
            }
            told(line)
        };
        let all = answers(input.as_bytes(), 2, work);
        assert!(all.starts_with("1 x\n") && all.lines().count() == 1000);
    }

    /// Takes three lines and then is closed.
    struct Closing(usize);

    impl Write for Closing {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0 = self.0.checked_sub(1).ok_or(std::io::ErrorKind::BrokenPipe)?;
            Ok(bytes.len())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_closed_output_ends_it_all() {
        let begun = AtomicUsize::new(0);
        let work = |line: &Line| {
            begun.fetch_add(1, Ordering::Relaxed);
            told(line)
        };
        // An input without end: it ends because the output does.
        let ended = answer_in_order(std::io::BufReader::new(Endless), Closing(3), 2, 5, work, told);
        assert!(
            matches!(ended, Err(Ended::Writing(error)) if error.kind() == std::io::ErrorKind::BrokenPipe)
        );
        assert!(begun.into_inner() <= 5 + 2 * HELD_PER_THREAD);
    }

    struct Endless;

    impl std::io::Read for Endless {
        fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
            into.fill(b'\n');
            Ok(into.len())
        }
    }
}
