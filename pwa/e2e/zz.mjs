import { openBrowser, openPhone, openShop } from './lib.mjs';
const shop = await openShop(); const b = await openBrowser();
const out='/tmp/wt-scratch/shots/'; import {mkdirSync} from 'fs'; mkdirSync(out,{recursive:true});
async function go(role, list, opts={}, lang='en', dark=false){
  const p=await openPhone(b,{reducedMotion:'reduce',colorScheme:dark?'dark':'light',locale:lang==='es'?'es-ES':'en-US',...opts}); const page=await p.newPage(); page.setDefaultTimeout(10000);
  await page.goto(`${shop.url}/#in=${shop.codes[role]}`); await page.locator('button.main').first().click(); await page.locator('nav.tabs').waitFor();
  await page.waitForTimeout(1500);
  for(const [n,h,act] of list){ await page.evaluate(x=>{location.hash=x},h); await page.waitForTimeout(900); await act?.(page); await page.screenshot({path:out+n+'.png',fullPage:true}); }
  await p.close();
}
await go('manager',[['m-rec','#/record'],['m-people','#/people']]);
await b.close(); await shop.close();
