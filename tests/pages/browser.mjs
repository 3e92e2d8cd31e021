// Looks at pages with a real browser, or plays a day at the desk; prints what it saw as JSON.
//   node browser.mjs CHROMIUM MODULES look  '["file:///...", ...]'
//   node browser.mjs CHROMIUM MODULES story '{"base": "http://...", "last": "2027-05-13"}'
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';

const [browserPath, modules, task, told] = process.argv.slice(2);
const need = createRequire(`${modules}/`);
const { chromium } = need('playwright-core');
const axe = readFileSync(need.resolve('axe-core/axe.min.js'), 'utf8');
const SIZES = [[390, 844], [1280, 900]];

// a page under a strict policy runs no script of ours unless the policy is passed over; that is
// done for looking alone, in the story the policy stands
async function openedPage(browser, [width, height], bypassCSP, seen) {
  const context = await browser.newContext({ viewport: { width, height }, bypassCSP });
  const page = await context.newPage();
  page.on('console', message => {
    if (message.type() === 'error') seen.errors.push(message.text());
  });
  page.on('pageerror', error => seen.errors.push(error.message));
  await context.route('**/*', route => {
    const url = new URL(route.request().url());
    const here = ['file:', 'data:'].includes(url.protocol) || url.hostname === '127.0.0.1';
    if (!here) seen.outside.push(url.href);
    return here ? route.continue() : route.abort();
  });
  return page;
}

async function look(browser, urls) {
  const seen = { errors: [], outside: [], pages: [] };
  for (const size of SIZES) {
    const page = await openedPage(browser, size, true, seen);
    for (const url of urls) {
      await page.goto(url);
      const wide = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      const width = size[0];
      let violations = [];
      if (width < 1000 || url.endsWith('season.html')) {  // the others differ in width alone
        await page.evaluate(axe);
        violations = await page.evaluate(async () => (await axe.run()).violations.map(
          found => `${found.id}: ${found.nodes.map(node => node.target.join(' ')).slice(0, 3)}`));
      }
      const sheet = width > 1000 ? await page.pdf({ preferCSSPageSize: true }) : Buffer.alloc(0);
      const sheets = (sheet.toString('latin1').match(/\/Type\s*\/Page\b/g) ?? []).length;
      seen.pages.push({ url, width, wide, violations, sheets });
    }
  }
  return seen;
}

// A day in the field with a phone: the hours worked, then rain; what moves; what the phone gets.
async function story(browser, { base, last }) {
  const seen = { errors: [], outside: [], told: [] };
  const page = await openedPage(browser, SIZES[0], false, seen);
  const say = async () => seen.told.push(await page.locator('main').innerText());
  await page.goto(base);
  const feed = await page.locator('code', { hasText: 'work.ics' }).innerText();
  const calendar = async () => (await page.request.get(feed)).text();
  const before = await calendar();
  await page.locator('th a[href^="day-"]').first().click();
  await page.locator('input[type=checkbox]').first().check();
  await page.locator('input[name=hours]').first().fill('1,5');
  await page.getByRole('button', { name: 'Record what is ticked' }).first().click();
  await say();
  await page.getByRole('button', { name: 'Keep it' }).click();
  const rain = page.locator('form', { hasText: 'No work' });
  await rain.locator('input[name=last]').fill(last);
  await rain.getByRole('button').click();
  await say();
  await page.getByRole('button', { name: 'Keep it' }).click();
  await say();
  await page.locator('nav a').first().click();
  await say();
  return { ...seen, changed: before !== await calendar(), cookies: await page.context().cookies() };
}

const browser = await chromium.launch({ executablePath: browserPath, args: ['--no-sandbox'] });
try {
  const answer = task === 'look' ? await look(browser, JSON.parse(told)) : await story(browser, JSON.parse(told));
  console.log(JSON.stringify(answer));
} finally {
  await browser.close();
}
