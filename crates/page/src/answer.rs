//! Results of jobs, kept by the text they came from: the same text never is worked out twice.

use intake::{Diagnostic, Shop};
use sha2::{Digest, Sha256};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use workbench::advice::{self, Advice};
use workbench::check::{self, Check};
use workbench::doubt::memory::Memory;
use workbench::job::Job;
use workbench::settings::{self, Solution, Wish};

/// A job that could be read, with its result.
pub struct Judged {
    /// The job with everything filled in.
    pub job: Job,
    /// Its result.
    pub check: Check,
    memory: Arc<Memory>,
    advice: OnceLock<Advice>,
    settings: OnceLock<Solution>,
}

impl Judged {
    /// What follows from the result; worked out at the first asking.
    pub fn advice(&self) -> &Advice {
        self.advice.get_or_init(|| advice::advise_again(&self.job, &self.check, &self.memory))
    }

    /// What to key in; worked out at the first asking.
    pub fn settings(&self) -> &Solution {
        let wish = Wish { buy: false, ..Wish::default() };
        self.settings.get_or_init(|| settings::solve(&self.job, &wish, &|_, _| {}))
    }
}

/// A job's result, or all that is wrong with its text.
pub type Answer = Result<Judged, Vec<Diagnostic>>;

/// Results kept.
const KEPT: usize = 128;
type Digested = [u8; 32];
type Slot = (Digested, Arc<OnceLock<Answer>>);

/// The kept results, newest last, and what was read for them link by link.
#[derive(Default)]
pub struct Answers {
    kept: Mutex<VecDeque<Slot>>,
    memory: Arc<Memory>,
}

impl Answers {
    /// The result of a job's text in that shop, whose own texts are `shop_text`.
    pub fn of(&self, text: &str, shop_text: &str, shop: &Shop) -> Arc<OnceLock<Answer>> {
        let mut hash = Sha256::new();
        hash.update((text.len() as u64).to_le_bytes());
        hash.update(text);
        hash.update(shop_text);
        let digest: Digested = hash.finalize().into();
        let slot = {
            let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(at) = kept.iter().position(|(d, _)| *d == digest) {
                let found = kept.remove(at).expect("the position was just found");
                kept.push_back(found.clone());
                found.1
            } else {
                if kept.len() >= KEPT {
                    kept.pop_front();
                }
                let slot = Arc::new(OnceLock::new());
                kept.push_back((digest, slot.clone()));
                slot
            }
        };
        // Two who ask for the same at once wait for one working out.
        slot.get_or_init(|| judge(text, shop, &self.memory));
        slot
    }
}

/// Reads and judges, the same way as the command line does.
fn judge(text: &str, shop: &Shop, memory: &Arc<Memory>) -> Answer {
    let job = intake::read_job(text, shop)?;
    let check = check::check_again(&job, memory);
    Ok(Judged { job, check, memory: memory.clone(), advice: OnceLock::new(), settings: OnceLock::new() })
}
