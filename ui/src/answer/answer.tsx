// Being written.

export function Answer() {
  return <div />;
}
