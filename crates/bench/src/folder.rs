//! What the bench may ask of the disk.

use stripwright_plan::Plan;

/// The one place that the user named, as far as the bench may touch it. The command line implements it with files, so
/// that reading and saving follow the command line's own rules; a page never sends a path to write to.
///
/// Every error is a whole sentence that says which file and why.
pub trait Folder: Send + Sync + 'static {
    /// A whole job to begin with where there is none yet.
    fn starter(&self) -> String;

    /// The job's text as it is on disk now; `None` where there is no file yet.
    ///
    /// # Errors
    /// Where the file cannot be read.
    fn read_job(&self) -> Result<Option<String>, String>;

    /// The text of the file of offcuts that a job names.
    ///
    /// # Errors
    /// Where the file cannot be read, or is not one the bench may read.
    fn read_offcuts(&self, name: &str) -> Result<String, String>;

    /// Where [`Folder::save_job`] writes, in words for the page; `None` where the user named no place.
    fn job_place(&self) -> Option<String>;

    /// Where [`Folder::write_packet`] writes, in words for the page; `None` where the user named no place.
    fn packet_place(&self) -> Option<String>;

    /// Replaces the job on disk with `text`, whole or not at all.
    ///
    /// # Errors
    /// Where it cannot be written, or the user named no place.
    fn save_job(&self, text: &str) -> Result<(), String>;

    /// Writes the packet of a job's text, that of the offcuts it was planned with, and its plan, whole or not at all; gives a sentence saying what was written.
    ///
    /// # Errors
    /// Where it cannot be written, or the user named no place.
    fn write_packet(&self, job: &str, offcuts: Option<&str>, plan: &Plan) -> Result<String, String>;
}

/// Why a job was not saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum SaveFault {
    /// The file is not what the page read: another page or program wrote it since.
    Changed,
    /// There is no file any more: something else moved or deleted it since.
    Gone,
    /// The disk refused; the sentence says why.
    Refused(String),
}

/// Saves `text` over the job that the page last read or saved as `base`, unless something else wrote it meanwhile.
pub(crate) fn save(folder: &dyn Folder, text: &str, base: Option<&str>) -> Result<(), SaveFault> {
    let now = folder.read_job().map_err(SaveFault::Refused)?;
    match now.as_deref() {
        now if now == base || now == Some(text) => folder.save_job(text).map_err(SaveFault::Refused),
        Some(_) => Err(SaveFault::Changed),
        None => Err(SaveFault::Gone),
    }
}
