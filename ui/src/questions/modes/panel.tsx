// Being written.

export function ModesPanel() {
  return <div />;
}
