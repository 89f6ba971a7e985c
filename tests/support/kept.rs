//! What the bench may ask of the disk, in memory.

use std::sync::Mutex;

use stripwright_bench::Folder;
use stripwright_plan::Plan;

/// A folder in memory that remembers what was written.
#[derive(Default)]
pub(crate) struct Kept {
    /// The job's text, once one was saved.
    pub(crate) job: Mutex<Option<String>>,
    /// How many packets were written.
    pub(crate) packets: Mutex<u32>,
}

impl Folder for Kept {
    fn starter(&self) -> String {
        "{}".into()
    }
    fn read_offcuts(&self, name: &str) -> Result<String, String> {
        Err(format!("{name} is not there."))
    }
    fn read_job(&self) -> Result<Option<String>, String> {
        Ok(self.job.lock().unwrap().clone())
    }
    fn job_place(&self) -> Option<String> {
        Some("job.json".into())
    }
    fn packet_place(&self) -> Option<String> {
        Some("packet".into())
    }
    fn save_job(&self, text: &str) -> Result<(), String> {
        *self.job.lock().unwrap() = Some(text.to_owned());
        Ok(())
    }
    fn write_packet(&self, _: &str, _: Option<&str>, _: &Plan) -> Result<String, String> {
        *self.packets.lock().unwrap() += 1;
        Ok("written".into())
    }
}
