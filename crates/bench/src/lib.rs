//! The bench page: the face and the bill, seen while the job changes.
//!
//! [`listen`] takes a port on the loopback address, [`Listening::url`] says where the page is, and
//! [`Listening::serve`] answers it until the program ends. The page is plain HTML, CSS and JavaScript kept inside the
//! binary; it sends the text of a job and gets back what the command line would print, as JSON.
//!
//! What this crate does not do: it computes nothing (every plan is [`stripwright_plan::plan()`]'s, the same call as the
//! command line's), and it opens no file. Reading and saving the job and writing the packet belong to whoever starts
//! the bench, through [`Folder`].
//!
//! # Who may ask
//! Only pages this program served to this machine's own browser:
//! * the socket is bound to 127.0.0.1, so no other machine can reach it;
//! * every address begins with a key of 128 random bits, so another account on this machine cannot guess it;
//! * the `Host` header must name the loopback address and this port, so a name that was pointed at 127.0.0.1 is
//!   refused; a present `Origin` must be the page's own; a `POST` must carry JSON, which no plain form can send;
//! * the page may load nothing but its own files (`Content-Security-Policy`).
//!
//! # Limits
//! [`MOST_BYTES`] a request, [`LONGEST_WAIT`] for its head and again for its body, [`MOST_CONNECTIONS`] and
//! [`turns::MOST_PAGES`] pages at once; a newer request from a page ends its older one.

mod api;
mod assets;
mod connections;
mod folder;
mod guard;
mod keys;
mod reply;
mod turns;
mod work;

pub use folder::Folder;
pub use turns::MOST_PAGES;

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

/// The largest request that is read: a job of a thousand sizes takes a tenth of it.
pub const MOST_BYTES: usize = 1 << 20;

/// How long a request's head may take to arrive, and then its body.
pub const LONGEST_WAIT: Duration = Duration::from_secs(10);

/// How many connections are held at once, well below the files a program may commonly have open; a browser opens six to
/// one address. Those that ask nothing make room after [`LONGEST_WAIT`], so whoever waits has a turn.
pub const MOST_CONNECTIONS: usize = 64;

/// A port of this machine that is held, and the key that opens it.
#[derive(Debug)]
pub struct Listening {
    listener: TcpListener,
    address: SocketAddr,
    key: String,
}

/// Takes `port` on 127.0.0.1; 0 takes any free one.
///
/// # Errors
/// Where the port is taken or the system has no random numbers to make a key of.
pub fn listen(port: u16) -> io::Result<Listening> {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
    listener.set_nonblocking(true)?;
    let address = listener.local_addr()?;
    Ok(Listening { listener, address, key: fresh_key()? })
}

impl Listening {
    /// Where the page is. Whoever has this address may use the bench, so it is printed and not logged.
    pub fn url(&self) -> String {
        format!("http://{}/{}/", self.address, self.key)
    }

    /// Answers requests until the process ends.
    ///
    /// # Errors
    /// Where the system refuses the threads or the socket.
    pub fn serve(self, folder: Arc<dyn Folder>) -> io::Result<()> {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            // Pictures must not queue behind plans, which hold `api::planners()` of these at most.
            .max_blocking_threads(api::planners() + 4)
            .build()?;
        runtime.block_on(async move {
            let listener = tokio::net::TcpListener::from_std(self.listener)?;
            let routes = api::routes(self.address.port(), &self.key, folder);
            match connections::serve(listener, routes).await {}
        })
    }
}

/// 128 random bits, as 32 hexadecimal digits.
fn fresh_key() -> io::Result<String> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(format!("no random numbers: {error}")))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
