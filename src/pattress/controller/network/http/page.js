"use strict";
const causes={nobody:"since power-up",network:"over the network",restore:"after a power cut","stuck closed":"stuck closed: will not open","stuck open":"stuck open: will not close"};
const link=document.getElementById("link"),loaded=performance.now();
let start=Number(document.body.dataset.second),heard=loaded,source;
const now=()=>start+(performance.now()-loaded)/1000;
const age=seconds=>{
  for(const [length,word] of [[86400,"d"],[3600,"h"],[60,"min"]])if(seconds>=length)return Math.floor(seconds/length)+" "+word+" ago";
  return Math.max(0,Math.floor(seconds))+" s ago";
};
const words=(level,top)=>!level?"off":top==1?"on":"step "+level;
const ways=[...document.querySelectorAll("[data-channel]")],readings=[...document.querySelectorAll("[data-sensor]")];

function tellAge(way){
  way.querySelector("small").textContent=(way.dataset.cause||way.querySelector("small").textContent.split(",")[0])+", "+age(now()-way.dataset.since);
}
function tell(way,record){
  const top=Number(way.dataset.top),output=way.querySelector("output"),said=words(record.level,top);
  way.dataset.since=record.second;
  way.dataset.cause=causes[record.cause]||"by "+record.cause;
  way.classList.toggle("lit",record.level>0);
  if(output.textContent!=said)output.textContent=said;
  for(const button of way.querySelectorAll("button")){
    const is=top==1?(button.value=="on")==record.level>0:Number(button.value)==record.level;
    button.classList.remove("asked");
    if(is)button.setAttribute("aria-current","true");else button.removeAttribute("aria-current");
  }
  tellAge(way);
}
function alive(){
  heard=performance.now();
  if(link.textContent!="Live"){link.textContent="Live";link.classList.remove("lost");}
}
function listen(){
  source=new EventSource("/news");
  source.addEventListener("availability",event=>{
    const record=JSON.parse(event.data);
    start=record.second-(performance.now()-loaded)/1000;
    alive();
    if(record.time===null)fetch("/time",{method:"POST",headers:{"Content-Type":"application/json"},body:String(Math.floor(Date.now()/1000))}).catch(()=>0);
  });
  source.addEventListener("still",alive);
  for(const way of ways)source.addEventListener("channel/"+way.dataset.channel,event=>{alive();tell(way,JSON.parse(event.data));});
  for(const input of document.querySelectorAll("[data-input]"))source.addEventListener("input/"+input.dataset.input,event=>{
    alive();
    input.querySelector("dd").textContent=JSON.parse(event.data).state;
  });
  for(const reading of readings)source.addEventListener("sensor/"+reading.dataset.sensor,event=>{
    const record=JSON.parse(event.data);
    alive();
    reading.querySelector("dd").textContent=record.fresh?record.value.toFixed(1)+" "+record.unit:"no reading";
  });
}
listen();
setInterval(()=>{
  ways.forEach(tellAge);
  const silent=Math.floor((performance.now()-heard)/1000);
  if(silent<(source.readyState==1?8:3))return;
  link.textContent="Not connected. What you see is "+silent+" s old.";
  link.classList.add("lost");
  if(source.readyState==2)listen();
},1000);

document.addEventListener("submit",async event=>{
  const way=event.target.closest("[data-channel]");
  if(!way)return;
  event.preventDefault();
  const button=event.submitter,alert=way.querySelector("[role=alert]");
  button.classList.add("asked");
  alert.textContent="";
  const request=isNaN(button.value)?button.value:Number(button.value);
  try{
    const answer=await fetch(event.target.action,{method:"POST",headers:{"Content-Type":"application/json"},body:JSON.stringify(request)});
    if(answer.status==401){location.reload();return;}
    if(!answer.ok)alert.textContent=(await answer.json()).reason;
  }catch(error){
    alert.textContent="The controller did not answer. Nothing is known to have changed.";
  }
  setTimeout(()=>button.classList.remove("asked"),2000);
});
