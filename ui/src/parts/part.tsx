// Being written.

export function Part() {
  return <div />;
}
