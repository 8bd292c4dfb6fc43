//! A series as files: a case for each specimen, a sheet to note on, a logbook ready to fill.

use calotte_desk::Refusal;
use calotte_specimen::Case;

use super::Ask;
use super::files::Files;
use crate::mould::mould;
use crate::series::{Series, page};

/// A text in TOML.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

impl Files {
    pub(super) fn series(
        &mut self,
        folder: &str,
        case: &Case,
        input: usize,
        s: &Series,
        ask: &Ask,
        mind: &[String],
    ) -> Result<(), Refusal> {
        let i = &case.inputs()[input];
        let size = |v: f64| i.show(v, i.half_width);
        let what = i.key.rsplit('.').next().unwrap_or("size").replace('_', " ");
        self.pages(
            &format!("{folder}series"),
            &[page(&case.title, &what, s, &size, mind, &ask.guide.paper)],
        )?;
        self.add(format!("{folder}case.toml"), case.text());
        for (name, content) in &ask.beside {
            self.add(format!("{folder}{name}"), content.clone());
        }
        let mut table = format!("specimen,{},note\n", i.key);
        for m in &s.members {
            let cell = i.show_exact(m.value, i.half_width);
            let note = format!("predicted: {} (margin {:+.1} %)", m.outcome.word(), 1e2 * m.margin);
            table += &format!("{},{cell},{note}\n", m.label);
            self.add(format!("{folder}{}.toml", m.label), m.case_toml.clone());
        }
        self.add(format!("{folder}specimens.csv"), table);
        let mut trials = String::from(
            "# A line a trial: take the # away and fill it in. outcome: returns, waits or stays; wait in seconds, where it waited.\nspecimen,hold_s,outcome,wait_s,note\n",
        );
        for m in &s.members {
            trials += &format!("#{},10,,,\n", m.label);
        }
        self.add(format!("{folder}trials.csv"), trials);
        let title = quoted(&format!("{}, a series over {}", case.title, i.key));
        self.add(
            format!("{folder}logbook.toml"),
            format!(
                "# Ask, when trials are filled in: calotte logbook logbook.toml --next\ntitle = {title}\ncase = \"case.toml\"\nspecimens = \"specimens.csv\"\ntrials = \"trials.csv\"\nwatched = \"600 s\"\nat_once = \"0.3 s\"\n\n[prior]\nthickness_factor = \"1.00 ± {:.3}\"\n",
                2.0 * ask.series.doubt
            ),
        );
        if ask.series.moulds {
            for m in &s.members {
                let one = case
                    .part_with(input, m.value)
                    .map_err(|e| Refusal::question(format!("series: {}: {e:?}", m.label)))?;
                let made = mould(&one, &ask.mould).map_err(|e| {
                    Refusal::with_help(format!("series: the mould of {}: {e}", m.label), e.help())
                })?;
                self.mould(
                    &format!("{folder}{}/", m.label),
                    case,
                    &made,
                    &ask.mould,
                    mind,
                    &ask.guide.paper,
                )?;
            }
        }
        Ok(())
    }
}
