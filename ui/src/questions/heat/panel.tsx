// Being written.

export function HeatPanel() {
  return <div />;
}
