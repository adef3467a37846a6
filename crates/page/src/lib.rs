//! The workbench in a browser: pages made on the server, one small script, nothing from another host.
//!
//! Every form works without the script. With it, pages are swapped in place, what is typed survives a lost server and
//! is sent later under the same change id, and other devices' changes appear by themselves.
//!
//! Never here: arithmetic on quantities (prices are added up in `office`); every number comes from the workbench, the same functions that the command
//! line calls. Addresses are the state of the page: a tablet that wakes up is where it was.

mod after;
mod answer;
mod app;
mod assets;
mod back;
mod bike;
mod cards;
mod change;
mod ctx;
mod drawn;
mod due;
mod fail;
mod faults;
mod field;
mod files;
mod guard;
mod hill;
mod history;
mod holds;
mod key_in;
mod layout;
mod link;
mod measure;
mod news;
mod office;
mod pair;
mod person;
mod photos;
mod rides;
mod routes;
mod serve;
mod shelf;
mod shop;
mod show;
mod sister;
mod small;
mod stand;
mod sums;
mod walk;

pub use app::{App, Options};
pub use pair::new_passphrase;
pub use routes::router;
pub use serve::{ServeError, serve};
