//! The page's types of every report, generated from the reports; a stale file fails.

#[cfg(test)]
mod tests {
    use std::any::TypeId;
    use std::collections::BTreeMap;
    use std::path::Path;

    use ts_rs::{Config, TS, TypeVisitor};

    /// Types that tests of other crates write into the same folder.
    const OTHERS: [&str; 10] = [
        "Block",
        "Entry",
        "HeatWhole",
        "KeyForm",
        "Look",
        "LookAsk",
        "LookInput",
        "ReleaseWhole",
        "Sheet",
        "TableForm",
    ];

    /// Every type met, by name.
    struct Met {
        config: Config,
        types: BTreeMap<String, (TypeId, String)>,
    }

    impl TypeVisitor for Met {
        fn visit<T: TS + 'static + ?Sized>(&mut self) {
            if T::output_path().is_none() {
                return;
            }
            let name = T::ident(&self.config);
            if let Some((id, _)) = self.types.get(&name) {
                assert_eq!(*id, TypeId::of::<T>(), "two types are called {name}: give one another name");
                return;
            }
            let text = T::export_to_string(&self.config).unwrap();
            let text: String = text.lines().map(|l| format!("{}\n", l.trim_end())).collect();
            self.types.insert(name, (TypeId::of::<T>(), text));
            T::visit_dependencies(self);
        }
    }

    /// File names and contents.
    fn files() -> BTreeMap<String, String> {
        let config = Config::new().with_large_int("number");
        let mut met = Met { config, types: BTreeMap::new() };
        met.visit::<crate::report::VerdictReport>();
        met.visit::<crate::states::report::StatesReport>();
        met.visit::<crate::poke::report::PokeReport>();
        met.visit::<crate::release::report::ReleaseReport>();
        met.visit::<crate::release::curves::WaitCurve>();
        met.visit::<crate::release::curves::WaitSpread>();
        met.visit::<crate::release::curves::Slowing>();
        met.visit::<crate::map::report::MapReport>();
        met.visit::<crate::heat::report::HeatReport>();
        met.visit::<crate::heat::report::HeatSpread>();
        met.visit::<crate::heat::report::HeatMap>();
        met.visit::<crate::modes::report::ModesReport>();
        met.visit::<crate::spread::report::BatchReport>();
        met.visit::<crate::size::report::SizeReport>();
        met.visit::<crate::film::Film>();
        let mut names: Vec<&str> = met.types.keys().map(String::as_str).chain(OTHERS).collect();
        names.sort_unstable();
        let line = |n: &&str| format!("export type {{ {n} }} from \"./{n}\";\n");
        let index = names.iter().map(line).collect::<String>();
        let mut out: BTreeMap<String, String> =
            met.types.into_iter().map(|(name, (_, text))| (format!("{name}.ts"), text)).collect();
        out.insert(
            "index.ts".to_owned(),
            format!("// All types of the answers and of the case file.\n\n{index}"),
        );
        out
    }

    /// `UPDATE_API=1` writes the files anew.
    #[test]
    fn typescript_is_fresh() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/src/api");
        let wanted = files();
        let update = std::env::var_os("UPDATE_API").is_some();
        let there: Vec<String> = std::fs::read_dir(&folder)
            .map(|all| all.map(|e| e.unwrap().file_name().into_string().unwrap()).collect())
            .unwrap_or_default();
        let mine = |n: &&String| !OTHERS.iter().any(|o| **n == format!("{o}.ts"));
        for stale in there.iter().filter(mine).filter(|n| !wanted.contains_key(*n)) {
            assert!(update, "{stale} belongs to no type: run the tests with UPDATE_API=1");
            std::fs::remove_file(folder.join(stale)).unwrap();
        }
        for (name, text) in &wanted {
            let file = folder.join(name);
            if update {
                std::fs::create_dir_all(&folder).unwrap();
                std::fs::write(&file, text).unwrap();
            }
            let kept = std::fs::read_to_string(&file).unwrap_or_default();
            assert!(kept == *text, "{name} is stale: run the tests with UPDATE_API=1");
        }
    }
}
