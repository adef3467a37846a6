//! One bike: its documents and its result.

use crate::answer::{Answer, Judged};
use crate::app::App;
use crate::fail::Fail;
use crate::shop::ShopTexts;
use intake::Diagnostic;
use std::sync::{Arc, OnceLock};
use workbench::fact::Origin;

/// A job of the book with what it comes to.
pub struct Bike {
    /// Number, title, text, revision.
    pub file: jobbook::Job,
    /// The shop's own texts.
    pub shop: ShopTexts,
    answer: Arc<OnceLock<Answer>>,
}

impl Bike {
    /// Loads and judges it.
    pub fn load(app: &App, number: &str) -> Result<Self, Fail> {
        let file = app.book.job(number)?;
        let shop = ShopTexts::load(app)?;
        Ok(Self::judge(app, file, shop))
    }

    /// Judges a job that is at hand.
    pub fn judge(app: &App, file: jobbook::Job, shop: ShopTexts) -> Self {
        let answer = app.answers.of(&file.text, &shop.own, &shop.shop);
        Self { file, shop, answer }
    }

    /// Number.
    pub fn number(&self) -> &str {
        &self.file.summary.number
    }

    /// The result, or what is wrong with the file.
    pub fn answer(&self) -> Result<&Judged, &[Diagnostic]> {
        match self.answer.get() {
            Some(Ok(judged)) => Ok(judged),
            Some(Err(errors)) => Err(errors),
            None => Err(&[]),
        }
    }

    /// The result or the sentence that there is none.
    pub fn judged(&self) -> Result<&Judged, Fail> {
        self.answer()
            .map_err(|errors| Fail::bad(errors.iter().map(|e| e.message.clone()).collect::<Vec<_>>().join(" · ")))
    }

    /// Values that somebody found out, and those that are assumed.
    pub fn counts(judged: &Judged) -> (usize, usize) {
        let known = judged.job.facts.iter().flatten();
        let assumed = known.clone().filter(|f| f.origin == Origin::Assumed).count();
        (known.count() - assumed, assumed)
    }

    /// Address of one of its pages.
    pub fn at(&self, page: &str) -> String {
        format!("/bikes/{}/{page}", self.number())
    }
}

impl Bike {
    /// Kind of hub, from which left-out facts are filled.
    pub fn kind(&self) -> Option<String> {
        let doc = jobbook::edit::parse(&self.file.text).ok()?;
        jobbook::edit::plain(&doc, "kind")
    }

    /// How this job file writes its decimals.
    pub fn decimal(&self) -> quantity::text::Decimal {
        let doc = jobbook::edit::parse(&self.file.text).ok();
        let comma = doc.and_then(|d| jobbook::edit::literal(&d, "decimal_comma")).is_some_and(|v| v == "true");
        if comma { quantity::text::Decimal::Comma } else { quantity::text::Decimal::Point }
    }

    /// Number of torque arms in the file.
    pub fn arms(&self) -> usize {
        let Ok(doc) = jobbook::edit::parse(&self.file.text) else { return 0 };
        doc.get("arm").and_then(|i| i.as_array_of_tables()).map_or(0, |a| a.len())
    }
}
